"""What a rule is, what it may ask, and how it words a finding."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from fit.findings import Finding, Span, grade_of
from fit.geometry.scene import Body, Opening, Scene
from fit.model.box import Tray
from fit.trade.hands import HandWork, hand_work, hole_position_error


class Family(StrEnum):
    """Rules of one family live in one file."""

    BODIES = "bodies"
    WALLS = "walls"
    LID = "lid"
    GOING_IN = "going-in"
    ORDER = "order"
    PANEL_PARTS = "panel-parts"
    BUTTONS = "buttons"
    HOLES = "holes-over-boards"
    WEBS = "webs"
    OLD_HOLES = "old-holes"
    WINDOWS = "windows"
    BOARDS = "boards"
    JOINT = "joint"
    SCREWS = "screws"
    PLUGS = "plugs"
    TOOLS = "hands-and-tools"
    SURROUNDINGS = "surroundings"


class Inspection:
    """One scene under inspection, with what every rule may ask of it.

    Attributes:
        scene: the build in the box frame.
        hands: how far this person's work strays, mm.
        error: e, how far a hand-made hole may sit from where it belongs, mm.
    """

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.hands: HandWork = hand_work(scene.build.hands)
        self.error = hole_position_error(self.hands)
        self._needs: Mapping[str, float] = {n.rule: float(n.value) for n in scene.build.needs}

    @cached_property
    def tray(self) -> Tray:
        """The box."""
        return self.scene.build.box

    @cached_property
    def openings(self) -> Mapping[str, list[Opening]]:
        """The openings of each part."""
        found: dict[str, list[Opening]] = {}
        for opening in self.scene.openings:
            found.setdefault(opening.part, []).append(opening)
        return found

    @cached_property
    def bodies(self) -> Mapping[str, list[Body]]:
        """The bodies of each part."""
        found: dict[str, list[Body]] = {}
        for body in self.scene.bodies:
            found.setdefault(body.owner, []).append(body)
        return found

    def need(self, rule: str, usual: float) -> float:
        """The limit a rule goes by, mm: the build's own where it names one, else the usual."""
        return self._needs.get(rule, usual)

    def overridden(self, rule: str) -> bool:
        """Whether the build file sets this rule's limit itself."""
        return rule in self._needs

    def where(self, *names: str) -> Span | None:
        """The place in the build file of the first of these parts that has one."""
        for name in names:
            placed = self.scene.placed.get(name)
            if placed is not None and placed.used.where.file:
                return placed.used.where
        return None

    def finding(
        self,
        rule: str,
        about: tuple[str, ...],
        *,
        have: float,
        need: float,
        spread: float,
        say: str,
        mend: str | None = None,
        margin: float | None = None,
        where: Span | None = None,
    ) -> Finding:
        """Grade one measurement.

        Args:
            rule: the rule's name.
            about: the parts it is about, the most telling first.
            have, need: what is there and what is needed, mm; the margin is have − need.
            spread: how far work and uncertain sizes may move it, mm.
            say: one plain sentence.
            mend: the cheapest repair, shown unless all is clear.
            margin: where it is not have − need (a limit from above: need − have).
            where: the place; found from `about` when left out.
        """
        room = have - need if margin is None else margin
        return Finding(
            rule=rule,
            grade=grade_of(room, spread),
            about=about,
            have=have,
            need=need,
            margin=room,
            spread=spread,
            say=say,
            mend=mend,
            where=where or self.where(*about),
        )


def spread_of(*terms: float) -> float:
    """Root sum square of independent spreads, mm.

    Source: F. Scholz, Tolerance Stack Analysis Methods, Boeing, 1995.
    """
    return math.sqrt(sum(t * t for t in terms))


Check = Callable[[Inspection], Iterable[Finding]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A named rule.

    Attributes:
        name: in plain words, as in the report.
        family: whose file it lives in.
        check: the function; its docstring explains the rule to the person.
    """

    name: str
    family: Family
    check: Check


def rule(name: str, family: Family) -> Callable[[Check], Rule]:
    """Make a rule of a check function, usually as a decorator."""

    def make(check: Check) -> Rule:
        return Rule(name=name, family=family, check=check)

    return make
