"""The story of a run: read the build, place what was left open, check, draw, write.

Each step is imported where it is used, so that a check never loads the CAD kernel or the
writers of PDF and DXF.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from fit import __version__
from fit.findings import Finding, Grade, Verdict
from fit.output import REPORT, CannotWrite, contents, refuse_unless_ours, whole_folder
from fit.report import Outcome, as_json, report
from fit.trade.paper import PaperName

if TYPE_CHECKING:
    from fit.draw.also import Also
    from fit.draw.correction import Correction
    from fit.draw.remarks import Remarks
    from fit.model.build import Build
    from fit.model.words import FaceName, Half
    from fit.solve.other.ways import Moved

OUT: Final = Path("templates_out")
"""Where results go unless told otherwise, below the working folder."""

Tell = Callable[[str], None]
"""Called with a few words before each step that takes a while."""

_WORST_FIRST: Final = {Grade.CLASH: 0, Grade.TIGHT: 1, Grade.CLEAR: 2}


def silent(_: str) -> None:
    """Tell nobody."""


def fingerprint(build: Build) -> str:
    """Eight hexadecimal digits that change with any input file's contents and the version.

    The same files give the same digits wherever they lie.
    """
    parts = [__version__, *sorted(source.sha256 for source in build.sources)]
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:8]


@dataclass(frozen=True, slots=True, kw_only=True)
class InBox:
    """Another box to put a build into: its name or file, and which way round.

    What is None stays as the build is written; `box` None is its own box.
    """

    box: str | None = None
    stands_on: FaceName | None = None
    carrier: Half | None = None
    quarters: int = 0


OWN_BOX: Final = InBox()


def read(build: str | Path, within: InBox = OWN_BOX) -> Moved:
    """Read a build and put it into the box asked for.

    Raises:
        UnusableInput: with every problem found, when one of the two cannot be read.
    """
    from fit.read import Shell, load_build, load_shell
    from fit.solve.other.ways import Way, moved_to

    home = load_build(build)
    shell = Shell(box=home.box) if within.box is None else load_shell(within.box, home)
    way = Way(
        stands_on=within.stands_on or home.stands_on,
        carrier=within.carrier or home.carrier,
        quarters=within.quarters,
    )
    this_half = within.carrier is not None
    return moved_to(home, shell.box, way, shell.sources, this_half=this_half)


def check(build: str | Path, *, within: InBox = OWN_BOX, tell: Tell = silent) -> Outcome:
    """Read a build, place what it leaves open and check the whole.

    Args:
        build: path of a build file, or the name of a build in a catalogue.
        within: another box than its own, or another way round.
        tell: called before each step that takes a while.

    Raises:
        UnusableInput: with every problem found, when it cannot be read.
    """
    moved = read(build, within)
    return compared(examine(moved.build, tell=tell), moved)


def compared(outcome: Outcome, moved: Moved) -> Outcome:
    """The outcome with what moved against the build's own box; unchanged where it is in that."""
    from fit.solve.other.shifts import elsewhere

    if moved.build == moved.home:
        return outcome
    return replace(outcome, elsewhere=elsewhere(moved, outcome.scene))


def examine(
    build: Build,
    *,
    mending: bool = True,
    layouts: bool = True,
    sizes: bool = True,
    tell: Tell = silent,
) -> Outcome:
    """Place what a build leaves open and check the whole.

    Args:
        build: the build.
        mending: whether mends are tried where it clashes; they take longer than all the rest.
        layouts: whether the layout solver is asked where plain rows leave something open.
        sizes: whether boards whose size is open are made as large as goes in.
        tell: called before each step that takes a while.

    Raises:
        UnusableInput: when it asks for what its box or parts cannot do.
    """
    from fit.check import Inspection, inspected
    from fit.check.odds import with_odds
    from fit.check.order import order_of
    from fit.solve.settled import settled

    refuse_unknown_needs(build)
    placed = settled(build, tell, layouts=layouts, sizes=sizes)
    scene = placed.scene
    tell("checking")
    look = Inspection(scene)
    findings = with_odds(scene, inspected(look))
    outcome = Outcome(
        scene=scene,
        findings=tuple(sorted([*placed.nowhere, *findings], key=_rank)),
        fingerprint=fingerprint(build),
        order=order_of(look),
        found=placed.found,
        sizes=placed.sizes,
    )
    return _with_mends(outcome, tell) if mending else outcome


def _with_mends(outcome: Outcome, tell: Tell) -> Outcome:
    """Try what might mend the clashes; a clash tells what was tried and helps, or nothing."""
    if outcome.scene.open or outcome.verdict is not Verdict.CLASH:
        return outcome
    from fit.check.mend import mended, mends, worth_telling

    tell("trying mends")
    tried = mends(outcome.scene.build, outcome.findings)
    return replace(outcome, findings=mended(outcome.findings, tried), mends=worth_telling(tried))


class NoSuchMend(Exception):
    """A mend was asked for that is not on the list."""


def with_mend(outcome: Outcome, number: int, *, tell: Tell = silent) -> Outcome:
    """What the check says once one of the mends is done.

    Args:
        outcome: of the build as it is.
        number: which of its mends, counted from 1.
        tell: called before each step that takes a while.

    Raises:
        NoSuchMend: when there are not so many.
    """
    count = len(outcome.mends)
    if not 1 <= number <= count:
        known = f"has {count} {'mend' if count == 1 else 'mends'}" if count else "has no mends"
        raise NoSuchMend(f"{outcome.scene.build.name} {known}: there is no number {number}")
    after = examine(outcome.mends[number - 1].build, tell=tell)
    done = outcome.mends[number - 1]
    return replace(after, done=done, found=outcome.found, elsewhere=outcome.elsewhere)


def with_copies(outcome: Outcome, copies: int, *, tell: Tell = silent) -> Outcome:
    """The outcome with odds from many simulated hand-made copies; needs every part placed.

    Ctrl-C ends it with the copies that are done.
    """
    if outcome.scene.open:
        return outcome
    from fit.check.odds_sample import ranked, sample

    tell("making copies")
    odds = sample(outcome.scene, copies, tell=lambda done, asked: tell(f"copy {done} of {asked}"))
    return replace(outcome, findings=ranked(outcome.findings, odds), odds=odds)


def refuse_unknown_needs(build: Build) -> None:
    """A limit set for a rule that does not exist would silently do nothing.

    Raises:
        UnusableInput: naming every such limit.
    """
    if not build.needs:
        return
    from difflib import get_close_matches

    from fit.check.inspect import RULES
    from fit.findings import Problem, UnusableInput

    names = [r.name for r in RULES]
    problems = []
    for need in build.needs:
        if need.rule not in names:
            near = get_close_matches(need.rule, names, n=1)
            right = f"did you mean '{near[0]}'?" if near else "fit explain lists the rules"
            problems.append(Problem(need.where, f"there is no rule '{need.rule}'", right))
    if problems:
        raise UnusableInput(tuple(problems))


def _rank(finding: Finding) -> tuple[int, float, str]:
    """Worst grade first; within a grade the shortest of room for its spread first."""
    return (_WORST_FIRST[finding.grade], finding.margin - finding.spread, finding.rule)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What `make` did.

    Attributes:
        outcome: what the check said, with the files written.
        folder: where they are.
        withheld: True when the build does not go together and no sheets were written.
    """

    outcome: Outcome
    folder: Path
    withheld: bool


def make(
    build: str | Path,
    *,
    within: InBox = OWN_BOX,
    out: Path | None = None,
    paper: PaperName = PaperName.A4,
    anyway: bool = False,
    correction: Correction | None = None,
    also: Also | None = None,
    tell: Tell = silent,
) -> Made:
    """Check a build and write everything that is made from it, whole or not at all.

    A build that does not go together gets its report alone, in place of whatever an earlier run
    left there: paper that no longer matches the file must not lie about to be drilled by.

    Args:
        build: path of a build file, or the name of a build in a catalogue.
        within: another box than its own, or another way round.
        out: the folder to write, replaced as a whole; by default one named after the build
            (and the other box) below `OUT`.
        paper: what the sheets are printed on.
        anyway: write the sheets of a build that clashes, each saying so.
        correction: what the printer needs, so that its prints are true; every sheet says so.
        also: what is wanted beyond the sheets, and for which tools; None: nothing else.
        tell: called before each step that takes a while.

    Raises:
        UnusableInput: when the build cannot be read; nothing is written.
        CannotWrite: when the results cannot be written there, or not as asked; what was there
            stays.
    """
    moved = read(build, within)
    folder = out if out is not None else OUT / _folder_name(moved)
    refuse_unless_ours(folder)
    outcome = compared(examine(moved.build, tell=tell), moved)
    # A part without a place has no opening yet: there is nothing whole to draw, whatever is asked.
    drawable = outcome.verdict is not Verdict.CLASH or (anyway and not outcome.scene.open)
    with whole_folder(folder) as work:
        if drawable:
            _write_all(outcome, work, paper, correction, also, tell)
            _write_outlines(outcome, work, also, tell)
            if also is not None:
                _write_extras(outcome, work, paper, correction, also, tell)
        outcome = replace(outcome, files=contents(work))
        (work / REPORT).write_text(as_json(report(outcome)), encoding="utf-8")
    return Made(outcome=outcome, folder=folder, withheld=not drawable)


def _folder_name(moved: Moved) -> str:
    """A build in another box keeps off the folder of its own sheets."""
    if moved.build == moved.home:
        return moved.home.name
    words = [moved.home.name, "in", moved.build.box.name.removesuffix("°")]
    if moved.build.stands_on is not moved.home.stands_on:
        words.append(f"on {moved.build.stands_on}")
    if moved.build.carrier is not moved.home.carrier:
        words.append(f"boards in {moved.build.carrier}")
    return "-".join(words).replace(" ", "-")


def _write_all(
    outcome: Outcome,
    folder: Path,
    paper: PaperName,
    correction: Correction | None,
    also: Also | None,
    tell: Tell,
) -> None:
    """Write every file made from a build, in the order a person opens them."""
    from fit.draw.also import NOTHING_ELSE
    from fit.draw.pdf import pdf_bytes
    from fit.draw.sheets import sheets
    from fit.geometry.solids import write_glb, write_step
    from fit.trade.hands import hand_work

    scene = outcome.scene
    clash = outcome.verdict is Verdict.CLASH
    tell("writing sheets.pdf")
    hand = hand_work(scene.build.hands)
    asked = (also or NOTHING_ELSE).sheets
    pages = sheets(
        scene,
        paper,
        outcome.fingerprint,
        hand,
        clash=clash,
        correction=correction,
        asked=asked,
        remarks=remarks_of(outcome),
    )
    if pages:
        (folder / "sheets.pdf").write_bytes(pdf_bytes(pages, scene.build.name))
    tell("writing model.step")
    write_step(scene, folder / "model.step")
    tell("writing model.glb")
    write_glb(scene, folder / "model.glb")


def remarks_of(outcome: Outcome) -> Remarks:
    """What each sheet says about what moved because the build is not in its own box."""
    from fit.draw.remarks import Remarks
    from fit.model.words import FaceName

    elsewhere = outcome.elsewhere
    if elsewhere is None:
        return Remarks()
    faces = {face: elsewhere.on_face(face) for face in FaceName}
    boards = {name: elsewhere.on_board(name) for name in elsewhere.boards}
    return Remarks(faces={face: words for face, words in faces.items() if words}, boards=boards)


def _write_outlines(outcome: Outcome, folder: Path, also: Also | None, tell: Tell) -> None:
    """One DXF and one SVG for each face, board and plate to cut.

    Raises:
        CannotWrite: when something to cut is narrower than the kerf.
    """
    from fit.draw.also import NOTHING_ELSE
    from fit.draw.cutfiles import cut_files
    from fit.draw.dxf import dxf_bytes
    from fit.draw.svg import svg_bytes
    from fit.geometry.offset import NothingLeft

    tell("writing outlines")
    laser = (also or NOTHING_ELSE).laser
    try:
        drawings = cut_files(outcome.scene, laser)
    except NothingLeft as error:
        raise CannotWrite(f"a kerf of {laser.kerf:g} mm leaves nothing of {error}") from error
    for name, drawing in drawings.items():
        (folder / f"{name}.dxf").write_bytes(dxf_bytes(drawing))
        (folder / f"{name}.svg").write_bytes(svg_bytes(drawing))


def _write_extras(
    outcome: Outcome,
    folder: Path,
    paper: PaperName,
    correction: Correction | None,
    also: Also,
    tell: Tell,
) -> None:
    """The paper dummy, the front label, drilling jigs: what was asked for.

    Raises:
        CannotWrite: when a jig is asked for something that has no holes, or is not there.
    """
    scene = outcome.scene
    if also.dummy or also.label:
        from fit.draw.extras import extra_pages
        from fit.draw.pdf import pdf_bytes

        tell("writing dummy and label")
        made = extra_pages(
            scene,
            also,
            paper,
            outcome.fingerprint,
            clash=outcome.verdict is Verdict.CLASH,
            correction=correction,
        )
        for name, pages in made.items():
            (folder / name).write_bytes(pdf_bytes(pages, scene.build.name))
    if also.jigs:
        from fit.geometry.jig import NoSuchJig, jig, write_jig

        tell("writing jigs")
        for name in also.jigs:
            try:
                write_jig(jig(scene, name), folder / f"jig-{name}.step")
            except NoSuchJig as error:
                raise CannotWrite(str(error)) from error
