"""A change to a build, and how one is tried quickly against the clash it is to remove."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from fit.check.inspect import RULES
from fit.check.odds_limits import Key
from fit.check.rule import Inspection
from fit.findings import Finding, Grade, UnusableInput
from fit.geometry.assemble import assemble
from fit.geometry.scene import BOX, Scene
from fit.model.build import Build, Used

_SOLID_RULES = ("bodies", "walls", "lid", "going-in")
"""Rules that look at pairs of solids: only those of the two things are kept while trying."""


class Cost:
    """What a change costs, in rough minutes of thought and work. Only the order matters.

    Common sense, no source: what only changes the drawing is cheap, what changes the layout or a
    board costs more, what must be bought costs a day.
    """

    ON_PAPER = 1.0
    """A window's size, a screw or a spacer from the drawer."""
    MOVE = 1.2
    """A part's place; a twentieth more for each mm."""
    TURN = 1.8
    ON_BOARD = 2.5
    """A part soldered elsewhere."""
    SIZE = 3.0
    """A board cut to another size; a fifth more for each row."""
    NOTCH = 5.0
    FACE = 6.0
    HALF = 8.0
    BUY = 20.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change to the build that might help.

    Attributes:
        title: what to do, with the figure.
        build: the build with it done.
        cost: see `Cost`.
        kind: changes of one kind differ only in how much; one of them is enough. Empty: alone.
    """

    title: str
    build: Build
    cost: float
    kind: str = ""


@dataclass(slots=True, kw_only=True)
class Trial:
    """A clash to be mended, and how many quick tries are left for it.

    Attributes:
        scene: as it is.
        finding: the clash.
        tries: how many builds may still be put together for it.
    """

    scene: Scene
    finding: Finding
    tries: int = 60
    _look: Inspection | None = field(default=None)

    @property
    def build(self) -> Build:
        """As it is."""
        return self.scene.build

    @property
    def look(self) -> Inspection:
        """The scene as it is, under inspection."""
        if self._look is None:
            self._look = Inspection(self.scene)
        return self._look

    @property
    def short(self) -> float:
        """What is missing, mm."""
        return -self.finding.margin

    def parts(self) -> tuple[Used, ...]:
        """The parts the clash is about, as used."""
        return tuple(u for u in self.build.parts if u.name in self.finding.about)

    def put(self, used: Used) -> Build:
        """The build with one part used in another way."""
        return with_part(self.build, used)

    def scene_of(self, build: Build) -> Scene | None:
        """A changed build put together; None when it cannot be, or no tries are left."""
        if self.tries <= 0:
            return None
        self.tries -= 1
        try:
            scene = assemble(build)
        except (UnusableInput, ValueError):
            return None
        return scene if set(scene.open) <= set(self.scene.open) else None

    def helps(self, build: Build) -> bool:
        """Whether the clash is gone in a changed build, as far as its own rule sees."""
        scene = self.scene_of(build)
        return scene is not None and not self.clashes_in(scene)

    def clashes_in(self, scene: Scene) -> bool:
        """Whether the same clash is found in another scene."""
        if self.finding.rule in _SOLID_RULES:
            scene = _only(scene, self.finding.about)
        look = Inspection(scene)
        rule = next(r for r in RULES if r.name == self.finding.rule)
        return any(f.grade is Grade.CLASH and same(f, self.finding) for f in rule.check(look))


def same(a: Finding, b: Finding) -> bool:
    """Whether two findings are about the same things by the same rule."""
    return clash_key(a) == clash_key(b)


def clash_key(finding: Finding) -> Key:
    """What a clash is known by."""
    return (finding.rule, tuple(sorted(finding.about)))


def _only(scene: Scene, about: tuple[str, ...]) -> Scene:
    """A scene with the solids of two things, and of what is joined to them."""
    joined = {u.name for u in scene.build.parts if u.joined_to in about or u.name in about}
    kept = joined | {name for u in scene.build.parts if u.name in joined for name in u.carries}
    bodies = tuple(
        b for b in scene.bodies if (b.name if b.owner == BOX else b.owner) in kept | set(about)
    )
    return replace(scene, bodies=bodies)


def with_part(build: Build, used: Used) -> Build:
    """A build with one part used in another way."""
    return replace(build, parts=tuple(used if u.name == used.name else u for u in build.parts))
