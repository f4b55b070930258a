"""What ``fit place`` says: where things go and why there, or why they cannot."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

from fit.commands.show import hole_lines, share
from fit.model.build import Coordinate, How
from fit.model.words import UPRIGHT, FaceName
from fit.report import Outcome, as_json, report
from fit.solve.layout import Laid, Layout
from fit.solve.nolayout import COPIES, Help, NoLayout
from fit.solve.proposal import Cost
from fit.units import show

_WORDS = {
    How.CENTRE: "in the middle",
    How.FROM_LEFT: "{} from the left edge",
    How.FROM_RIGHT: "{} from the right edge",
    How.FROM_RIM: "{} below the rim",
    How.FROM_FLOOR: "{} above the floor",
    How.FROM_FRONT: "{} from the front edge",
    How.FROM_BACK: "{} from the back edge",
}


def found_text(
    laid: Laid, layouts: Sequence[Layout], outcomes: Sequence[Outcome], *, writable: bool
) -> str:
    """The layouts, each with its places, what is tightest, and what the wishes cost."""
    if not laid.free and not outcomes[0].sizes:
        return f"{laid.build.name} leaves nothing open; fit check tells whether it goes together"
    lines: list[str] = []
    for number, (layout, outcome) in enumerate(zip(layouts, outcomes, strict=True), 1):
        if len(layouts) > 1:
            lines += [f"Way {number}:", ""]
        lines += [*_places(laid, layout), ""] if laid.free else []
        lines += _sizes(outcome)
        lines += _tightest(layout)
        lines += _wishes(layout.costs)
        lines += [*_others(outcome, layout), *hole_lines(outcome), ""]
    name, last = laid.build.name, outcomes[0].verdict.value
    if len(layouts) > 1:
        closing = f"{len(layouts)} ways for {name}."
        hint = " --write --take N puts one into the file."
    else:
        what = "places and sizes" if outcomes[0].sizes else "places"
        closing = f"{name} with these {what}: {last}."
        hint = " --write puts them into the file."
    lines.append(closing + (hint if writable else ""))
    return "\n".join(lines)


def _sizes(outcome: Outcome) -> Iterator[str]:
    """The boards whose size was open."""
    from fit.commands.board_size_words import limits_lines, none_lines

    if not outcome.sizes:
        return
    for taken in outcome.sizes:
        yield from none_lines(taken) if taken.waits else limits_lines([taken])
    yield ""


def _places(laid: Laid, layout: Layout) -> Iterator[str]:
    rows = []
    for free in laid.free:
        put = layout.puts[free.name]
        used = layout.build.part(free.name)
        place = used.at
        face = put.option.face
        across = coordinate_words(place.across, face, across=True) if place else ""
        up = coordinate_words(place.up, face, across=False) if place else ""
        room = _room(layout, free.name)
        rows.append((free.name, put.option.words, across, up, room))
    head = ("part", "face", "across", "up", "room")
    wide = [max(len(row[k]) for row in (head, *rows)) for k in range(5)]
    for row in (head, *rows):
        yield "  " + "  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip()


def _room(layout: Layout, name: str) -> str:
    rooms = [f.margin for f in layout.verdict.roomy if name in f.about]
    return f"{show(min(rooms), 1)} mm" if rooms else "more than enough"


def coordinate_words(given: Coordinate | None, face: FaceName, *, across: bool) -> str:
    """A coordinate as one says it: "15 right of the middle"."""
    if given is None:
        return "at the rim" if not across else "as it is"
    if given.how is How.AT:
        value = float(given.value)
        if across:
            side = "right" if value > 0 else "left"
            return f"{show(abs(value))} {side} of the middle"
        if face in UPRIGHT:
            return f"{show(value)} above the floor"
        return f"{show(abs(value))} {'behind' if value > 0 else 'before'} the middle"
    if given.how is How.SHARE:
        return f"at {show(100 * float(given.value), 0)} %"
    return _WORDS[given.how].format(show(float(given.value)))


def _tightest(layout: Layout) -> Iterator[str]:
    finding = layout.verdict.tightest
    if finding is not None:
        yield f"Least room, {show(finding.margin)} mm to spare: {finding.say}"
    if layout.best:
        yield "The search for more room went through to its end."


def _wishes(costs: Sequence[Cost]) -> Iterator[str]:
    unasked = [cost.words for cost in costs if cost.kept and not cost.asked]
    if unasked:
        yield f"Tidied, unasked: {'; '.join(unasked)}."
    for cost in costs:
        if cost.kept and cost.asked:
            price = f", for at most {show(cost.mm, 1)} mm of room" if cost.mm > 0 else ""
            yield f"Wish kept: {cost.words}{price}."
        elif cost.asked:
            yield (
                f"Wish given up: {cost.words}; it would take more than "
                f"{show(cost.mm, 1)} mm of the room there is."
            )


def _others(outcome: Outcome, layout: Layout) -> Iterator[str]:
    """Clashes that no place mends."""
    placed = {f.say for f in layout.verdict.placed}
    for finding in outcome.findings:
        if finding.grade.value == "clash" and finding.say not in placed:
            yield f"Still a clash, wherever things are put: {finding.say}"


def captions(layouts: Sequence[Layout]) -> list[str]:
    """A line under each picture."""
    words = [f"{show(layout.margin, 1)} mm to spare" for layout in layouts]
    if len(words) == 1:
        return words
    return [f"{n}: {w}" for n, w in enumerate(words, 1)]


def found_json(laid: Laid, layouts: Sequence[Layout], outcomes: Sequence[Outcome]) -> str:
    """The report of the best layout, with what the layouts are."""
    data = report(outcomes[0])
    data["layout"] = {
        "status": "found",
        "open": [f.name for f in laid.free],
        "ways": [
            _layout(layout, outcome) for layout, outcome in zip(layouts, outcomes, strict=True)
        ],
    }
    return as_json(data)


def _layout(layout: Layout, outcome: Outcome) -> dict[str, Any]:
    return {
        "margin": round(layout.margin, 4) if math.isfinite(layout.margin) else None,
        "best": layout.best,
        "verdict": outcome.verdict.value,
        "places": {
            name: {
                "face": put.option.face.value,
                "across": None if put.across is None else round(put.across, 4),
                "up": None if put.up is None else round(put.up, 4),
                "turn": put.option.turn,
                "standoff": None if put.option.standoff is None else float(put.option.standoff),
                "gap": None if put.option.gap is None else float(put.option.gap),
            }
            for name, put in layout.puts.items()
        },
        "wishes": [
            {"say": c.words, "kept": c.kept, "cost": round(c.mm, 4), "asked": c.asked}
            for c in layout.costs
        ],
    }


def no_text(laid: Laid, reason: NoLayout) -> str:
    """Why there is no layout, and what would help."""
    lines = [f"{laid.build.name} cannot be laid out: this is proved.", "", f"{reason.say}.", ""]
    lines += _helps(reason.helps)
    if not reason.helps:
        lines.append(
            "No small change was found that helps: leave one of them out, put one of them "
            "elsewhere, or take a bigger box."
        )
    return "\n".join(lines)


def _helps(helps: Sequence[Help]) -> Iterator[str]:
    if helps:
        yield "What would help, the least trouble first; each was laid out and checked:"
    for n, one in enumerate(helps, 1):
        yield f"  {n} {one.title}: {show(one.layout.margin, 1)} mm to spare"
        yield from (f"    {line}" for line in _odds(one))


def _odds(one: Help) -> Iterator[str]:
    """What a help costs in odds."""
    if one.odds is not None:
        yield f"goes together at the first cut: {share(one.odds)} of {COPIES} simulated copies"
    if one.chances is not None:
        before, after = one.chances
        yield f"its tightest gap holds at the first cut: {share(after)}, usual {share(before)}"


def no_json(laid: Laid, reason: NoLayout) -> str:
    """The same as data."""
    return as_json(
        {
            "build": laid.build.name,
            "box": laid.build.box.name,
            "layout": {
                "status": "impossible",
                "open": [f.name for f in laid.free],
                "reason": {
                    "parts": list(reason.parts),
                    "strict": reason.strict,
                    "smallest": reason.smallest,
                    "say": reason.say,
                },
                "helps": _helps_data(reason.helps),
            },
        }
    )


def _helps_data(helps: Sequence[Help]) -> list[dict[str, Any]]:
    return [
        {
            "title": h.title,
            "margin": round(h.layout.margin, 4),
            "odds": None if h.odds is None else round(h.odds, 4),
        }
        for h in helps
    ]


def unsettled_text(laid: Laid, helps: Sequence[Help], *, stopped: bool) -> str:
    """Neither found nor ruled out, and what would help."""
    why = "stopped" if stopped else "ran out of time"
    lines = [f"{laid.build.name}: {why} before a layout was found or ruled out."]
    if laid.objections:
        lines.append(f"The nearest came to this: {laid.objections[0].say}")
    lines.append("Give it longer with --seconds, or fix a place or two in the file.")
    if helps:
        lines += ["", *_helps(helps)]
    return "\n".join(lines)


def unsettled_json(laid: Laid, helps: Sequence[Help]) -> str:
    """The same as data."""
    return as_json(
        {
            "build": laid.build.name,
            "box": laid.build.box.name,
            "layout": {
                "status": "out_of_time",
                "open": [f.name for f in laid.free],
                "helps": _helps_data(helps),
            },
        }
    )
