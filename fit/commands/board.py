"""``fit board``: the biggest board that goes in."""

from __future__ import annotations

import json as json_text
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fit import __version__
from fit.commands.asking import Build as BuildArgument
from fit.commands.asking import Json, readable
from fit.commands.show import note, progress, put
from fit.commands.status import Status

if TYPE_CHECKING:
    from fit.model.build import Build
    from fit.report import Outcome
    from fit.solve.board import Biggest, Sawn
    from fit.solve.run import Watch


@dataclass(frozen=True, slots=True, kw_only=True)
class _Job:
    """One call: what was asked, and what goes with it.

    Attributes:
        build: as read; places may be open.
        placed: the same with every part placed.
        names: the boards to look at.
        sawn: what may be sawn.
        watch: clock and stop switch.
        tell: told what is going on.
        json: whether the answer goes to another program.
    """

    build: Build
    placed: Build
    names: tuple[str, ...]
    sawn: Sawn
    watch: Watch
    tell: Callable[[str], None]
    json: bool

    def put(self, text: str, data: dict[str, Any]) -> None:
        """Print an answer."""
        head = {"fit": __version__, "build": self.build.name, "box": self.build.box.name}
        put(json_text.dumps(head | data, indent=2, ensure_ascii=False) if self.json else text)


_Name = Annotated[
    str | None,
    typer.Option(
        "--board", metavar="NAME", help="Only this board; else each in turn.", show_default=False
    ),
]
_Notches = Annotated[
    int, typer.Option(metavar="N", min=0, max=6, help="Most notches; corners count.")
]
_LeastWidth = Annotated[
    int, typer.Option(metavar="HOLES", min=2, max=40, help="Holes that must stay between cuts.")
]
_PairFlag = Annotated[
    bool, typer.Option("--pair", help="Size a standing board and the one it stands on together.")
]
_Area = Annotated[
    float | None,
    typer.Option(
        "--area",
        metavar="CM2",
        min=0.1,
        help="The smallest box room for so much board.",
        show_default=False,
    ),
]
_Holes = Annotated[
    int | None,
    typer.Option(
        "--holes",
        metavar="N",
        min=1,
        help="The smallest box room for so many holes.",
        show_default=False,
    ),
]
_Seconds = Annotated[
    float, typer.Option(metavar="S", min=0.1, help="Stop after so long with the best so far.")
]
_Out = Annotated[
    Path | None,
    typer.Option(
        metavar="DIR", help="Also write the boards' own 1:1 sheets there.", show_default=False
    ),
]


def board(
    build: BuildArgument,
    name: _Name = None,
    notches: _Notches = 2,
    least_width: _LeastWidth = 4,
    pair: _PairFlag = False,
    area: _Area = None,
    holes: _Holes = None,
    seconds: _Seconds = 60.0,
    out: _Out = None,
    json: Json = False,
) -> None:
    """Find the biggest board that goes in, or the smallest box room for a board."""
    from fit.read import load_build
    from fit.solve.board import Sawn
    from fit.solve.run import Effort, Watch, interruptible

    if sum((pair, area is not None, holes is not None)) > 1:
        raise typer.BadParameter("--pair, --area and --holes exclude each other")
    if out is not None and (pair or area is not None or holes is not None):
        raise typer.BadParameter("--out goes with the biggest board alone", param_hint="'--out'")
    watch = Watch(effort=Effort(seconds=seconds))
    with readable(json), progress() as tell:
        read = load_build(build)
        placed = _placed(read, tell)
        job = _Job(
            build=read,
            placed=placed,
            names=_names(placed, name),
            sawn=Sawn(notches=notches, least_width=least_width),
            watch=watch,
            tell=tell,
            json=json,
        )
        _refuse_clashes(job)
        with interruptible(watch):
            if pair:
                status = _pair(job)
            elif area is not None or holes is not None:
                status = _room(job, area, holes)
            else:
                status = _biggest(job, out)
    raise typer.Exit(status)


def _placed(build: Build, tell: Callable[[str], None]) -> Build:
    """The build with every part placed."""
    from fit.solve.settled import settled

    scene = settled(build, tell).scene
    if scene.open:
        note(f"no place was found for {', '.join(scene.open)}; fit place says more")
        raise typer.Exit(Status.CLASH)
    return scene.build


def _names(build: Build, name: str | None) -> tuple[str, ...]:
    """The boards asked for; ends the run where there is none."""
    from fit.solve.board import boards_in

    known = boards_in(build)
    if not known:
        note(f"{build.name} has no board")
        raise typer.Exit(Status.WRONG_USE)
    if name is None:
        return known
    if name not in known:
        near = get_close_matches(name, known, n=1)
        hint = f"did you mean '{near[0]}'?" if near else f"it has {', '.join(known)}"
        note(f"{build.name} has no board '{name}'; {hint}")
        raise typer.Exit(Status.WRONG_USE)
    return (name,)


def _refuse_clashes(job: _Job) -> None:
    """No board can mend what is wrong elsewhere: that comes first."""
    from fit.solve.board import boards_in, clashes_elsewhere

    clashes = clashes_elsewhere(job.placed, boards_in(job.placed))
    if not clashes:
        return
    for clash in clashes:
        place = f"{clash.where}: " if clash.where and clash.where.file else ""
        note(f"{place}{clash.grade.value}: {clash.say}")
    note(f"{job.build.name} does not go together, whatever its boards: mend this first")
    raise typer.Exit(Status.CLASH)


def _checked(job: _Job, found: Build) -> tuple[Build, Outcome]:
    """The build as a person would write it, once the whole check has passed it.

    Parts without a written place are left to be placed anew where that goes; else the places they
    had while the board was looked for are written as well.
    """
    from fit import pipeline
    from fit.findings import Verdict

    was = {used.name: used for used in job.placed.parts}
    changed = {u.name: u for u in found.parts if u != was[u.name]}
    open_still = replace(job.build, parts=tuple(changed.get(u.name, u) for u in job.build.parts))
    for build in (open_still, found):
        outcome = pipeline.examine(build, tell=job.tell)
        if outcome.verdict is not Verdict.CLASH:
            return build, outcome
    raise AssertionError("the check does not pass a board that every rule had passed")


def _biggest(job: _Job, out: Path | None) -> Status:
    from fit.commands.board_words import found_json, found_text, none_text
    from fit.solve.board import End, biggest

    texts, data, good = [], [], []
    status = Status.GOOD
    for name in job.names:
        found = biggest(job.placed, name, job.sawn, job.watch, job.tell)
        if found.build is None:
            texts.append(none_text(found, job.sawn))
            data.append(found_json(found, job.build, None))
            ended = Status.NO_LAYOUT if found.end is End.NONE else Status.OUT_OF_TIME
            status = max(status, ended)
            continue
        after, outcome = _checked(job, found.build)
        good.append((found, outcome))
        texts.append(found_text(found, job.build, after, job.sawn, outcome.verdict.value))
        data.append(found_json(found, job.build, after) | {"verdict": outcome.verdict.value})
    if out is not None and good:
        job.tell("writing sheets")
        _write(out, good)
    job.put("\n\n".join(texts), {"boards": data})
    return status


def _write(out: Path, good: list[tuple[Biggest, Outcome]]) -> None:
    """The boards' own sheets, and their outlines for other programs; whole or not at all.

    Raises:
        CannotWrite: when the folder may not be replaced or written.
    """
    from fit.draw.cutfiles import board_cuts
    from fit.draw.dxf import dxf_bytes
    from fit.draw.pdf import pdf_bytes
    from fit.draw.sheets import sheets
    from fit.draw.svg import svg_bytes
    from fit.output import REPORT, contents, whole_folder
    from fit.report import as_json, report
    from fit.trade.hands import hand_work
    from fit.trade.paper import PaperName

    with whole_folder(out) as folder:
        for found, outcome in good:
            scene = outcome.scene
            only = tuple(b for b in scene.boards if b.name == found.name)
            alone = replace(scene, openings=(), plates=(), boards=only)
            hand = hand_work(scene.build.hands)
            pages = sheets(alone, PaperName.A4, outcome.fingerprint, hand)
            name = f"board-{found.name}"
            (folder / f"{name}.pdf").write_bytes(pdf_bytes(pages, scene.build.name))
            drawing = board_cuts(only[0])
            (folder / f"{name}.dxf").write_bytes(dxf_bytes(drawing))
            (folder / f"{name}.svg").write_bytes(svg_bytes(drawing))
        last = replace(good[-1][1], files=contents(folder))
        (folder / REPORT).write_text(as_json(report(last)), encoding="utf-8")


def _pair(job: _Job) -> Status:
    from fit.commands.board_pair_words import pairs_json, pairs_text
    from fit.solve.board_pair import pairs

    standing = [n for n in job.names if job.placed.part(n).joined_to is not None]
    if not standing:
        note(f"{job.build.name} has no board that stands on another (joined_to)")
        raise typer.Exit(Status.WRONG_USE)
    texts, data, status = [], [], Status.GOOD
    for name in standing:
        found = pairs(job.placed, name, job.sawn, job.watch, job.tell, job.build)
        checked = tuple(replace(row, build=_checked(job, row.build)[0]) for row in found.rows)
        found = replace(found, rows=checked)
        data.append(pairs_json(found, job.build))
        if found.rows:
            texts.append(pairs_text(found, job.build))
            continue
        ended = "before time was up" if found.cut_short else "whatever was tried"
        texts.append(f"{name} and {found.lying}: no pair passed the check {ended}")
        status = max(status, Status.OUT_OF_TIME if found.cut_short else Status.NO_LAYOUT)
    job.put("\n\n".join(texts), {"tables": data})
    return status


def _room(job: _Job, area: float | None, holes: int | None) -> Status:
    from fit.commands.board_words import room_json, room_text
    from fit.geometry.assemble import assemble
    from fit.solve.board_grid import grid_of
    from fit.solve.board_room import smallest_room

    name = job.names[0]
    grid = grid_of(assemble(job.placed), name)
    if grid.standing:
        note(f"{name} stands on another board: ask for the room of the one that lies")
        raise typer.Exit(Status.WRONG_USE)
    if holes is not None and not grid.holes:
        note(f"{name} has no holes to count: ask with --area")
        raise typer.Exit(Status.WRONG_USE)
    # Square centimetres are rounded up to whole cells.
    cells = holes or math.ceil((area or 0.0) * 100 / grid.step**2 - 1e-9)
    asked = f"{holes} holes" if holes is not None else f"{area:g} cm²"
    room = smallest_room(job.build, name, cells, job.sawn, job.watch, job.tell)
    if room is None:
        cut = job.watch.left <= 0
        say = "no room was found before time was up" if cut else "none up to 400 × 400 mm takes it"
        job.put(f"{name}, {asked}: {say}", {"room": None, "cut_short": cut})
        return Status.OUT_OF_TIME if cut else Status.NO_LAYOUT
    job.put(room_text(room, job.build, asked), {"room": room_json(room, job.build)})
    return Status.GOOD
