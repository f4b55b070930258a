"""``fit place``: where everything goes that was left open."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from fit.commands.asking import Build as BuildArgument
from fit.commands.asking import Json, readable
from fit.commands.placing import BoxOption, CarrierOption, StandsOption, TurnOption, in_box
from fit.commands.show import note, progress, put
from fit.commands.status import Status, status_of

if TYPE_CHECKING:
    from fit.model.box import Tray
    from fit.model.build import Build
    from fit.pipeline import Tell
    from fit.solve.board_size import Taken
    from fit.solve.layout import Laid, Layout
    from fit.solve.nolayout import NoLayout
    from fit.solve.run import Watch

_Write = Annotated[
    bool,
    typer.Option(
        "--write", help="Write the places into the build file, changing nothing else in it."
    ),
]
_Ways = Annotated[
    int, typer.Option("--ways", metavar="N", min=1, max=12, help="Show up to N different layouts.")
]
_Take = Annotated[
    int, typer.Option("--take", metavar="N", min=1, help="Which of the ways --write writes.")
]
_Seconds = Annotated[
    float,
    typer.Option(
        metavar="S",
        min=0.1,
        help="Stop after so long with the best so far; more than 60 s lets it try harder, too.",
    ),
]
_Draw = Annotated[
    Path | None,
    typer.Option(
        "--draw",
        metavar="FILE",
        help="Where the picture goes, .svg or .pdf; else beside other results.",
        show_default=False,
    ),
]

_SEARCH_SHARE = 0.75
"""So much of the time goes to the search; with the rest ways out are looked for."""

_WORK = 6.0
"""The solver's effort for each yes-or-no step, when no more time is given than usual."""

_USUAL = 60.0
"""The time that is usually given, s."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Asked:
    """What was asked for; `at_home`: in the box and the way round the file names."""

    build: str
    read: Build
    ways: int
    take: int
    write: bool
    draw: Path | None
    json: bool
    at_home: bool
    watch: Watch
    tell: Tell


def place(
    build: BuildArgument,
    write: _Write = False,
    ways: _Ways = 1,
    take: _Take = 1,
    seconds: _Seconds = _USUAL,
    draw: _Draw = None,
    box: BoxOption = None,
    stands_on: StandsOption = None,
    carrier: CarrierOption = None,
    turn_box: TurnOption = 0,
    json: Json = False,
) -> None:
    """Find the best place for everything that was left open, or prove that there is none."""
    from fit.pipeline import OWN_BOX
    from fit.pipeline import read as read_within
    from fit.solve.run import Effort, Watch, interruptible

    within = in_box(box, stands_on, carrier, turn_box)
    if write and within != OWN_BOX:
        raise typer.BadParameter(
            "what is written holds for the box the file names: change that first",
            param_hint="'--write'",
        )
    if take > ways:
        raise typer.BadParameter(f"there are at most {ways} ways: --ways sets how many")
    if draw is not None and draw.suffix.lower() not in (".svg", ".pdf"):
        raise typer.BadParameter("a picture is .svg or .pdf", param_hint="'--draw'")
    # Whoever gives it longer wants it to try harder.
    work = _WORK * max(1.0, seconds / _USUAL)
    watch = Watch(effort=Effort(seconds=seconds, work=work))
    with readable(json), progress() as tell:
        read = read_within(build, within).build
        asked = _Asked(
            build=build,
            read=read,
            ways=ways,
            take=take,
            write=write,
            draw=draw,
            json=json,
            at_home=within == OWN_BOX,
            watch=watch,
            tell=tell,
        )
        with interruptible(watch):
            status = _answer(asked)
    raise typer.Exit(status)


def _answer(asked: _Asked) -> Status:
    from fit.solve.layout import lay_out
    from fit.solve.run import Status as Ran

    whole = asked.watch
    effort = replace(whole.effort, seconds=_SEARCH_SHARE * whole.effort.seconds)
    laid = lay_out(asked.read, replace(whole, effort=effort), asked.tell)
    if laid.layout is not None:
        return _found(asked, laid)
    if laid.status is Ran.IMPOSSIBLE:
        return _impossible(asked, laid)
    return _unsettled(asked, laid)


def _found(asked: _Asked, laid: Laid) -> Status:
    from fit.commands.place_words import found_json, found_text
    from fit.pipeline import examine
    from fit.solve.several import several

    assert laid.layout is not None
    layouts: tuple[Layout, ...] = (laid.layout,)
    if asked.ways > 1:
        layouts = several(asked.read, laid, asked.ways, asked.watch, asked.tell)
    layouts, sizes = _with_sizes(asked, laid, layouts)
    if any(taken.outline is None and not taken.waits for taken in sizes[0]):
        return _no_size(asked, sizes[0])
    outcomes = [
        replace(examine(layout.build, tell=asked.tell), sizes=taken)
        for layout, taken in zip(layouts, sizes, strict=True)
    ]
    picture = _drawn(asked, laid, layouts)
    if asked.json:
        put(found_json(laid, layouts, outcomes))
    else:
        put(found_text(laid, layouts, outcomes, writable=asked.at_home))
    if picture is not None:
        note(f"drawn: {picture}")
    if asked.write:
        _write(asked, layouts)
    if asked.watch.stopped.is_set():
        note("stopped: this is the best so far")
        return Status.INTERRUPTED
    return max((status_of(o) for o in outcomes[:1]), default=Status.GOOD)


def _with_sizes(
    asked: _Asked, laid: Laid, layouts: tuple[Layout, ...]
) -> tuple[tuple[Layout, ...], list[tuple[Taken, ...]]]:
    """The layouts with the boards whose size is open as large as goes in, and these sizes."""
    from fit.solve.board_size import open_sizes

    if not open_sizes(asked.read):
        return layouts, [() for _ in layouts]
    from fit.solve.board_size_places import with_more_room, with_sizes

    sized = [with_sizes(laid, layout, asked.watch, asked.tell) for layout in layouts]
    sized[0] = with_more_room(laid, sized[0], asked.watch, asked.tell)
    return tuple(one.layout for one in sized), [one.taken for one in sized]


def _no_size(asked: _Asked, sizes: tuple[Taken, ...]) -> Status:
    """No board of at least the least size goes in."""
    from fit.commands.board_size_words import none_json, none_lines

    none = [taken for taken in sizes if taken.outline is None]
    if asked.json:
        put(none_json(asked.read, none))
    else:
        put("\n".join(line for taken in none for line in none_lines(taken)))
    if asked.watch.stopped.is_set():
        return Status.INTERRUPTED
    return Status.OUT_OF_TIME if any(taken.cut_short for taken in none) else Status.NO_LAYOUT


def _write(asked: _Asked, layouts: tuple[Layout, ...]) -> None:
    """Put the chosen layout's places into the build file.

    Raises:
        CannotWrite: when the disk will not take it.
    """
    from fit.output import CannotWrite
    from fit.read import build_file, shipped
    from fit.read.rewrite import changes, write_places

    if asked.take > len(layouts):
        note(f"only {len(layouts)} found: nothing was written")
        raise typer.Exit(Status.WRONG_USE)
    path = build_file(asked.build)
    if path.resolve().is_relative_to(shipped().resolve()):
        raise CannotWrite(f"{path} belongs to fit itself: copy it beside your own files first")
    wanted, carrier = changes(asked.read, layouts[asked.take - 1].build)
    sha256 = next((s.sha256 for s in asked.read.sources if s.path.endswith(path.name)), None)
    try:
        changed = write_places(path, wanted, carrier=carrier, sha256=sha256)
    except OSError as error:
        raise CannotWrite(f"cannot write {path}: {error.strerror}") from error
    note(f"written into {path}" if changed else f"{path} says all of this already")


def _impossible(asked: _Asked, laid: Laid) -> Status:
    from fit.commands.place_words import no_json, no_text
    from fit.solve.board_size import open_sizes
    from fit.solve.helps import with_helps
    from fit.solve.nolayout import why_not

    asked.tell("looking for the smallest reason")
    reason = why_not(laid, asked.watch)
    reason = with_helps(laid, reason, asked.watch, asked.tell, _boxes(asked.read))
    put(no_json(laid, reason) if asked.json else no_text(laid, reason))
    if open_sizes(asked.read) and not asked.json:
        put("Boards whose size is open count with the least they have to be.")
    picture = _drawn_reason(asked, laid, reason)
    if picture is not None:
        note(f"drawn: {picture}")
    return Status.NO_LAYOUT


def _boxes(build: Build) -> list[Tray]:
    """The boxes at hand that can be read."""
    from fit.findings import UnusableInput
    from fit.read.shells import read_shell, shell_files

    found = []
    for file in shell_files(build):
        try:
            found.append(read_shell(file, build).box)
        except UnusableInput:
            continue
    return found


def _unsettled(asked: _Asked, laid: Laid) -> Status:
    from fit.commands.place_words import unsettled_json, unsettled_text
    from fit.solve.helps import ways_out

    helps = ways_out(laid, asked.watch, asked.tell, _boxes(asked.read))
    stopped = asked.watch.stopped.is_set()
    if asked.json:
        put(unsettled_json(laid, helps))
    else:
        put(unsettled_text(laid, helps, stopped=stopped))
    return Status.INTERRUPTED if stopped else Status.OUT_OF_TIME


def _drawn(asked: _Asked, laid: Laid, layouts: tuple[Layout, ...]) -> Path | None:
    """The picture of the layouts; None when nothing was open."""
    if not laid.free:
        return None
    from fit.commands.place_words import captions
    from fit.draw.places import Shown, place_sheets, place_svg
    from fit.trade.paper import PaperName

    names = frozenset(f.name for f in laid.free)
    shown = [
        Shown(scene=layout.verdict.scene, found=names, caption=caption)
        for layout, caption in zip(layouts, captions(layouts), strict=True)
    ]
    target = _target(asked)
    if target.suffix.lower() == ".svg":
        return _saved(target, place_svg(shown))
    from fit.draw.pdf import pdf_bytes

    return _saved(target, pdf_bytes(place_sheets(shown, PaperName.A4), asked.read.name))


def _drawn_reason(asked: _Asked, laid: Laid, reason: NoLayout) -> Path | None:
    """The picture of a reason; None where its parts are not on one face."""
    if reason.face is None or min(reason.room) <= 0:
        return None
    from fit.draw.places import Reason, reason_sheets, reason_svg
    from fit.trade.paper import PaperName

    picture = Reason(
        face=reason.face, room=reason.room, parts=_with_gaps(reason), say=f"{reason.say}."
    )
    target = _target(asked)
    if target.suffix.lower() == ".svg":
        return _saved(target, reason_svg(picture, laid.build))
    from fit.draw.pdf import pdf_bytes

    pages = reason_sheets(picture, laid.build, PaperName.A4)
    return _saved(target, pdf_bytes(pages, asked.read.name))


def _with_gaps(reason: NoLayout) -> tuple[tuple[str, float, float], ...]:
    """Each part with its share of the gaps, so that together they need what is needed."""
    count = len(reason.parts)
    more = [
        max(0.0, need - sum(size[k] for size in reason.sizes)) / count
        for k, need in enumerate(reason.needs)
    ]
    return tuple(
        (name, wide + more[0], high + more[1])
        for name, (wide, high) in zip(reason.parts, reason.sizes, strict=True)
    )


def _target(asked: _Asked) -> Path:
    from fit.pipeline import OUT

    return asked.draw if asked.draw is not None else OUT / f"{asked.read.name}-layout.svg"


def _saved(path: Path, data: bytes) -> Path:
    """Write a picture, whole or not at all.

    Raises:
        CannotWrite: when it cannot be written there.
    """
    from fit.output import whole_file

    whole_file(path, data)
    return path
