"""``fit smallest``: the smallest box a build goes into, as an entry of a shopping list."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from fit.commands.asking import Build, Json, readable
from fit.commands.placing import BoxOption
from fit.commands.show import note, progress, put
from fit.commands.status import Status
from fit.units import show

if TYPE_CHECKING:
    from fit.model.box import Tray
    from fit.solve.other.resize import Inside
    from fit.solve.other.smallest import Smallest


def smallest(
    build: Build,
    box: BoxOption = None,
    step: Annotated[
        float, typer.Option(metavar="MM", help="Step of the sizes looked at, 0.5 to 10 mm.")
    ] = 0.5,
    beyond: Annotated[
        float,
        typer.Option(
            metavar="MM", help="How much longer, wider and higher than the box is looked."
        ),
    ] = 20.0,
    json: Json = False,
) -> None:
    """Find the smallest inside a build goes into, its box's walls and draft as they are."""
    from fit import pipeline
    from fit.report import as_json
    from fit.solve.other.family import usual_range
    from fit.solve.other.smallest import smallest as search

    _within(step, "--step", 0.5, 10.0)
    _within(beyond, "--beyond", 0.0, 200.0)
    with readable(json), progress() as tell:
        moved = pipeline.read(build, pipeline.InBox(box=box))
        pipeline.refuse_unknown_needs(moved.home)
        found = search(moved.build, usual_range(moved.build, step, beyond), tell)
    name, family = moved.home.name, moved.build.box
    if json:
        put(as_json(_plain(name, family, found)))
    else:
        put("\n".join(_lines(name, family, found)))
    if not found.whole:
        note("stopped before the end")
        raise typer.Exit(Status.INTERRUPTED)
    raise typer.Exit(Status.GOOD if found.inside is not None else Status.NO_LAYOUT)


def _within(value: float, option: str, least: float, most: float) -> None:
    if not least <= value <= most:
        say = f"{value:g} is out of range; write {least:g} to {most:g}"
        raise typer.BadParameter(say, param_hint=option)


def _lines(name: str, family: Tray, found: Smallest) -> Iterator[str]:
    low, high = found.range.low, found.range.high
    looked = (
        f"Looked at {found.points} insides from {_sizes(low)} to {_sizes(high)} mm in steps of "
        f"{show(found.range.step)}; {found.asked} of them had to be put together."
    )
    if found.inside is None or found.box is None:
        if found.never is not None:
            yield f"{name} goes into no box of this kind, whatever its size:"
            yield f"    {found.never.say}"
            return
        least = "" if found.whole else f" with less than {found.below / 1000:.0f} cm³ inside"
        yield f"No box like {family.name}{least} was found for {name}."
        yield looked
        return
    box, inside = found.box, found.inside
    yield f"For {name}, a box like {family.name}:"
    yield f"    inside            {_sizes(inside)} mm"
    yield f"                      ({inside.volume / 1000:.0f} cm³; length and width at the rim)"
    yield f"    outside then      {_sizes(box, 1)} mm"
    yield f"    walls             {_walls(box)}"
    lid = f"{box.lid.kind} lid of {show(box.lid.thickness)} mm"
    yield f"    floor, lid        {show(box.floor)} mm, {lid}"
    yield from (f"    {words}" for words in _posts(box))
    yield ""
    yield looked
    yield (
        "A larger box may not go as it is: what is placed from an edge moves with it. Try yours "
        f"with fit check {name} --box BOX."
    )


def _sizes(of: Inside | Tray, places: int = 2) -> str:
    return " × ".join(show(v, places) for v in (of.length, of.width, of.height))


def _walls(box: Tray) -> str:
    walls = (box.front, box.back, box.left, box.right)
    thick = " / ".join(dict.fromkeys(show(w.thickness) for w in walls))
    lean = " / ".join(dict.fromkeys(show(w.draft) for w in walls))
    return f"{thick} mm, draft {lean}°, {box.plastic}"


def _posts(box: Tray) -> Iterator[str]:
    """What else the box must have: board posts where they are, closing posts in the corners."""
    from fit.model.words import PostUse

    boards = [p for p in box.posts if p.use is PostUse.BOARD]
    for half in dict.fromkeys(p.half for p in boards):
        posts = [p for p in boards if p.half is half]
        xs, ys = [float(p.x) for p in posts], [float(p.y) for p in posts]
        yield (
            f"board posts in {half:<5} {len(posts)}, {show(max(xs) - min(xs))} × "
            f"{show(max(ys) - min(ys))} mm apart, {show(posts[0].height)} high"
        )
    closing = sum(p.use is PostUse.CLOSING for p in box.posts)
    if closing:
        yield f"closing posts     {closing}, in the corners"


def _plain(name: str, family: Tray, found: Smallest) -> dict[str, Any]:
    from fit import __version__

    low, high = found.range.low, found.range.high
    box, inside = found.box, found.inside
    return {
        "fit": __version__,
        "build": name,
        "like": family.name,
        "inside": None if inside is None else [inside.length, inside.width, inside.height],
        "outside": None
        if box is None
        else [round(float(v), 4) for v in (box.length, box.width, box.height)],
        "volume": None if inside is None else round(inside.volume / 1000, 4),
        "nothing_below": round(found.below / 1000, 4),
        "never": None if found.never is None else found.never.say,
        "from": [low.length, low.width, low.height],
        "to": [high.length, high.width, high.height],
        "step": found.range.step,
        "sizes": found.points,
        "put_together": found.asked,
    }
