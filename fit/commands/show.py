"""Findings as lines of text that read well without colour, the place in the file first."""

from __future__ import annotations

import math
import os
import sys
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from fit.findings import Finding, Grade, Problem
from fit.report import Outcome
from fit.units import show

if TYPE_CHECKING:
    from fit.pipeline import Tell

_COLOUR: Final = {Grade.CLASH: "bold red", Grade.TIGHT: "yellow", Grade.CLEAR: "green"}


def put(text: str) -> None:
    """Write lines to standard output; a reader that has gone away is no fault of ours."""
    try:
        print(text.rstrip("\n"))  # noqa: T201 - the one place that writes data
        sys.stdout.flush()
    except BrokenPipeError:
        # `fit check … | head`: keep the exit status, and let Python's last flush go nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def note(text: str) -> None:
    """Write a line to standard error."""
    print(text, file=sys.stderr)  # noqa: T201 - the one place that talks there


def findings_text(outcome: Outcome, *, everything: bool) -> str:
    """The findings, the worst first, and a line that tells the verdict.

    Args:
        outcome: what a run came to.
        everything: also show what is clear, not only how many.
    """
    shown = [f for f in outcome.findings if everything or f.grade is not Grade.CLEAR]
    lines = [line for f in shown for line in _finding_lines(f)]
    hidden = len(outcome.findings) - len(shown)
    if hidden:
        lines.append(f"{_count(hidden, 'finding')} clear (--all shows them)")
    if lines:
        lines.append("")
    rest = [*mend_lines(outcome), *together_lines(outcome), *odds_lines(outcome)]
    if outcome.sizes:
        from fit.commands.board_size_words import sizes_lines

        rest += [*sizes_lines(outcome.sizes), ""]
    if outcome.elsewhere is not None:
        from fit.commands.placing import elsewhere_lines

        rest += [*elsewhere_lines(outcome.elsewhere), ""]
    return "\n".join([*lines, *rest, verdict_line(outcome)])


def mend_lines(outcome: Outcome) -> Iterator[str]:
    """What was done to the build, and what could be: each was tried."""
    if outcome.done is not None:
        yield f"Mended: {outcome.done.title}. Nothing was written to your file."
        yield ""
    if not outcome.mends:
        return
    yield "Mends that were tried and help (--mend N shows the check after one):"
    for n, mend in enumerate(outcome.mends, 1):
        left = f", {_count(mend.left, 'clash', 'clashes')} left" if mend.left else ""
        yield f"  {n:2} {mend.title}: {mend.verdict.value}{left}"
    yield ""


def odds_lines(outcome: Outcome) -> Iterator[str]:
    """How likely it all goes together at the first cut, and what to measure better."""
    odds = outcome.odds
    if odds is None or not odds.copies:
        return
    yield (
        f"Goes together at the first cut: {share(odds.whole)} of {odds.copies} simulated "
        "hand-made copies"
    )
    if odds.copies < odds.asked:
        yield f"    stopped early: {odds.asked} were asked for"
    if odds.worth:
        yield "Worth measuring better, the best first:"
    for n, worth in enumerate(odds.worth, 1):
        yield f"  {n:2} {worth.name} ±{show(worth.plus_minus)}: +{worth.gain:.1%}"
    yield ""


def share(odds: float) -> str:
    """A chance as a percentage that never claims certainty."""
    if odds > 0.995:
        return "more than 99%"
    return "less than 1%" if odds < 0.005 else f"{odds:.0%}"


def together_lines(outcome: Outcome) -> Iterator[str]:
    """How it goes together: the order, and the wires that cross from one half to the other."""
    if not outcome.scene.bodies or outcome.scene.open:
        return
    from fit.check.order import crossing_wires

    yield "Order of assembly:"
    yield from (f"  {n:2} {step}" for n, step in enumerate(outcome.order.steps, 1))
    crossing = crossing_wires(outcome.scene)
    total = len(outcome.scene.build.wires)
    if total:
        yield f"Wires from body to lid: {len(crossing)} of {total}" + (":" if crossing else "")
    for wire in crossing:
        yield (
            f"    {wire.wire.start} to {wire.wire.end}: cut {math.ceil(wire.length)} mm, so that "
            f"the lid can lie open beside the {wire.over}"
        )
    yield from hole_lines(outcome)
    yield ""


def hole_lines(outcome: Outcome) -> Iterator[str]:
    """What becomes of the holes the box has already; nothing where it has none."""
    from fit.geometry.old_holes import told_reused

    scene = outcome.scene
    opened = [f"{name} for {o.part}" for o in scene.openings for name in o.opens]
    bare = [f.about[1].removeprefix("hole ") for f in outcome.findings if f.rule == "bare-holes"]
    for words, holes in (
        ("serve, nothing to cut there", told_reused(scene)),
        ("are opened up, with no twist bit", opened),
        ("stay bare: plug them", bare),
    ):
        if holes:
            yield f"Holes of the box that {words}: {', '.join(holes)}"


def _finding_lines(finding: Finding) -> Iterator[str]:
    place = f"{finding.where}: " if finding.where and finding.where.file else ""
    yield f"{place}{finding.grade.value}: {finding.say}"
    odds = "" if finding.odds is None else f", goes at the first cut {share(finding.odds)}"
    spread = f" ±{show(finding.spread)}" if finding.spread else ""
    yield (
        f"    {finding.rule} ({', '.join(finding.about)}): have {show(finding.have)}, "
        f"need {show(finding.need)}, margin {show(finding.margin)}{spread}{odds}"
    )
    if finding.mend:
        yield f"    mend: {finding.mend}"


def verdict_line(outcome: Outcome) -> str:
    """One line: does it go together?"""
    name = outcome.scene.build.name
    counts = Counter(f.grade for f in outcome.findings)
    tight, clash = counts[Grade.TIGHT], counts[Grade.CLASH]
    if outcome.scene.open:
        return f"{name} is not complete: no place for {_names(outcome.scene.open)}"
    if clash:
        extra = f", {tight} more tight" if tight else ""
        return f"{name} does not go together: {_count(clash, 'clash', 'clashes')}{extra}"
    if tight:
        return f"{name} goes together, but {_count(tight, 'finding')} tight: take care there"
    if not outcome.findings:
        return f"{name}: nothing to check"
    return f"{name} goes together: {_count(len(outcome.findings), 'finding')}, all clear"


def problems_text(problems: Iterable[Problem]) -> str:
    """Every problem of the input files, one a line, the place first."""
    return "\n".join(str(p) for p in problems)


def table(rows: Iterable[tuple[str, str]]) -> str:
    """Two columns of text, the first as wide as its longest entry."""
    told = list(rows)
    width = max((len(first) for first, _ in told), default=0)
    return "\n".join(f"  {first:<{width}}  {second}".rstrip() for first, second in told)


def _names(names: tuple[str, ...]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"


@contextmanager
def progress() -> Iterator[Tell]:
    """A line on the terminal that tells what is going on; nothing when nobody watches."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console

    console = Console(stderr=True)
    with console.status("reading") as status:
        yield status.update


def coloured(text: str) -> bool:
    """Print text with its grades in colour; tell whether that was done."""
    if not sys.stdout.isatty() or "NO_COLOR" in os.environ:
        return False
    from rich.console import Console
    from rich.text import Text

    styled = Text(text)
    for grade, style in _COLOUR.items():
        styled.highlight_regex(rf"(?m)(?<=: ){grade.value}(?=: )|^{grade.value}(?=: )", style)
    Console(soft_wrap=True, highlight=False).print(styled)
    return True
