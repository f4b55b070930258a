"""Everything in a scene that takes room or keeps other things off, as upright boxes with a layer.

A layer says what the box is to the rules: a solid of some kind, a cut in a face, a cap that a
finger works, the circle a spanner sweeps, the space behind a cut. `Needs` says what two layers
must keep between them, or a layer and a wall, as the rules of the check have it. The rules that
are not here (going in, order, batteries …) are left to the check, which every layout passes
through.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from fit.check.buttons import controls
from fit.check.cuts import behind
from fit.check.joint import beside_boards, pieces
from fit.check.panel_room import turnings
from fit.check.rule import Inspection
from fit.check.things import Solid, Things, gap_of_kinds, gap_to_wall, is_nose, things
from fit.check.tools import taken_out
from fit.check.webs import depth_behind, edge_need
from fit.geometry.frames import Pose
from fit.geometry.scene import BOX, BodyId, Cut, Opening, Role, Scene
from fit.geometry.shapes import Block, Shape
from fit.geometry.support import Bounds
from fit.model.words import FaceName, Half, Stuff
from fit.solve.upright import around, within
from fit.trade.clearances import Control, Thing, finger_gap, needed_gap, web, window_to_post

_LATE = ("knob", "cable")


class Sort(StrEnum):
    """What kind of thing a box stands for."""

    SOLID = "solid"
    CUT = "cut"
    CONTROL = "control"
    SPANNER = "spanner"
    BEHIND = "behind"
    TAKING = "taking"
    """The room over a holder through which its cells come out."""
    PIECE = "piece"
    """A block or strip that joins a board to the lying one that has to carry it all over."""
    BESIDE = "beside"
    """Where a lying board carries no joint: outside its edges."""
    REGION = "region"
    """A part of a face to keep out of."""
    OLD = "old"
    """A hole that the box has already; what may sit on it is not for this question."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer:
    """What a box is, as far as the rules care.

    Attributes:
        sort: what kind of thing.
        owner: the part, or `fit.geometry.scene.BOX`.
        face: the wall a solid is mounted on; else the face it is about.
        body: the solid's id where it touches something on purpose.
        thing: a solid's kind in the table of gaps.
        moulded: whether the box itself has it.
        rises: a moulded post or rib.
        half: the half it stays with.
        outside: whether it stands outside the walls.
        late: a solid that goes on after the nut is tight.
        mounted: a solid whose part is mounted on `face`.
        window: a cut, or the space behind one, that is a window.
        at_rim: a cut that is open to the rim on purpose.
        nose: a solid that may look through its wall.
        soft: a solid that gives way, as wires do.
        lies_on: the board that has to carry a piece of a joint.
        control: what kind of control.
    """

    sort: Sort
    owner: str
    face: FaceName | None = None
    body: BodyId | None = None
    thing: Thing = Thing.PART
    moulded: bool = False
    rises: bool = False
    half: Half = Half.BODY
    outside: bool = False
    late: bool = False
    mounted: bool = False
    window: bool = False
    at_rim: bool = False
    nose: bool = False
    soft: bool = False
    lies_on: str = ""
    control: Control | None = None


Key = tuple[str, str, str, int]
"""Sort, owner, name and number: the same thing in two scenes of one build has the same key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Blob:
    """One thing that takes room.

    Attributes:
        layer: what it is.
        around: upright boxes that hold it, mm, box frame.
        within: upright boxes within it, mm.
        shape, pose: the solid itself.
    """

    layer: Layer
    around: tuple[Bounds, ...]
    within: tuple[Bounds, ...]
    shape: Shape
    pose: Pose

    @classmethod
    def of(cls, layer: Layer, shape: Shape, pose: Pose) -> Blob:
        """A posed solid's."""
        return cls(
            layer=layer,
            around=around(shape, pose),
            within=within(shape, pose),
            shape=shape,
            pose=pose,
        )


def matter(look: Inspection) -> dict[Key, Blob]:
    """All that takes room in a scene."""
    known = things(look)
    found: dict[Key, Blob] = {}
    for layer, name, shape, pose in _everything(look, known):
        number = 0
        while (key := (layer.sort.value, layer.owner, name, number)) in found:
            number += 1
        found[key] = Blob.of(layer, shape, pose)
    return found


Posed = tuple[Layer, str, Shape, Pose]


def _everything(look: Inspection, known: Things) -> Iterator[Posed]:
    for solid in known.solids:
        layer = _solid_layer(look.scene, known, solid)
        yield layer, solid.body.name, solid.body.shape, solid.body.pose
    for opening in look.scene.openings:
        yield from _cut(look, opening)
    for hole in look.scene.there:
        shape, through = _through(look, hole.opening)
        yield Layer(sort=Sort.OLD, owner=BOX, face=hole.opening.face), hole.name, shape, through
    for one in controls(look):
        layer = Layer(
            sort=Sort.CONTROL, owner=one.name, face=one.face, control=one.kind, outside=True
        )
        yield layer, one.nose, one.body.shape, one.body.pose
    for turning in turnings(look):
        layer = Layer(
            sort=Sort.SPANNER,
            owner=turning.name,
            face=turning.face,
            half=turning.half,
            outside=turning.outside,
        )
        yield layer, "", turning.shape, turning.pose
    for holder, shape, pose in taken_out(look):
        layer = Layer(sort=Sort.TAKING, owner=holder.name, half=holder.placed.half)
        yield layer, "", shape, pose
    for standing, lying, body in pieces(look):
        yield Layer(sort=Sort.PIECE, owner=standing, lies_on=lying), "", body.shape, body.pose
    for lying, shape, pose in beside_boards(look):
        yield Layer(sort=Sort.BESIDE, owner=lying), "", shape, pose


def _solid_layer(scene: Scene, known: Things, solid: Solid) -> Layer:
    body = solid.body
    placed = scene.placed.get(body.owner)
    meets = body.id in known.touched or body.name == "leads"
    return Layer(
        sort=Sort.SOLID,
        owner=body.owner,
        face=body.seat,
        body=body.id if meets else None,
        thing=solid.kind,
        moulded=solid.moulded,
        rises=solid.moulded and solid.label.startswith(("post ", "rib ")),
        half=body.half,
        outside=body.outside,
        late=body.name in _LATE,
        mounted=placed is not None and body.seat is not None and placed.face is body.seat,
        nose=is_nose(body),
        soft=body.stuff is Stuff.SOFT,
    )


def _through(look: Inspection, opening: Opening) -> tuple[Shape, Pose]:
    """An opening as deep as its wall, from the wall's outside."""
    face = look.scene.faces[opening.face]
    shape, pose = behind(opening, face, face.thickness)
    # `behind` begins at the wall's inside.
    return shape, pose.shifted((0.0, 0.0, face.thickness))


def _cut(look: Inspection, opening: Opening) -> Iterator[Posed]:
    """The cut through the wall, and the space behind it that a tool comes out in."""
    face = look.scene.faces[opening.face]
    window = opening.role is Role.WINDOW
    name = f"{opening.role}:{opening.name}"
    half = Half.LID if opening.face is FaceName.LID else Half.BODY
    shape, through = _through(look, opening)
    layer = Layer(
        sort=Sort.CUT,
        owner=opening.part,
        face=opening.face,
        half=half,
        window=window,
        at_rim=opening.cut is Cut.RIM_SLOT,
    )
    yield layer, name, shape, through
    deep = depth_behind(opening)
    space, there = behind(opening, face, deep)
    layer = Layer(sort=Sort.BEHIND, owner=opening.part, face=opening.face, half=half, window=window)
    yield layer, name, space, there


def region_blob(
    look: Inspection, face: FaceName, low: tuple[float, float], high: tuple[float, float]
) -> Blob:
    """A rectangle of a face that cuts and parts keep out of, as thick as matters."""
    frame = look.scene.faces[face].frame
    wide, tall = high[0] - low[0], high[1] - low[1]
    pose = frame.shifted(((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, 0.0))
    shape = Block(wide, tall, 2 * look.scene.faces[face].thickness)
    layer = Layer(sort=Sort.REGION, owner="", face=face)
    return Blob.of(layer, shape, pose)


class Needs:
    """What must be kept between layers, by the rules of the check, mm."""

    def __init__(self, look: Inspection, *, loose: bool = False, finger: float = 0.0) -> None:
        """Take what the rules go by.

        Args:
            look: any inspection of the build.
            loose: ask for no more than the rules surely do.
            finger: the least finger gap somebody wished for, mm.
        """
        self._look, self._known, self._loose, self._finger = look, things(look), loose, finger
        self._exempt: set[frozenset[BodyId]] = set()

    def spare(self, known: Things, bodies: Iterable[Solid]) -> None:
        """Note which of these solids touch on purpose or are behind a board from each other."""
        with_id = [s for s in bodies if s.body.id in known.touched or s.body.name == "leads"]
        for n, a in enumerate(with_id):
            for b in with_id[n + 1 :]:
                if a.body.owner != b.body.owner and (
                    known.touch(a.body, b.body) or known.behind_a_board(a.body, b.body)
                ):
                    self._exempt.add(frozenset((a.body.id, b.body.id)))

    def between(self, a: Layer, b: Layer) -> float | None:
        """The gap two layers must keep, mm; None where they do not see each other."""
        if a.owner == b.owner:
            return None
        for one, two in ((a, b), (b, a)):
            need = self._one_way(one, two)
            if need is not None:
                return need
        return None

    @staticmethod
    def count(a: Layer, b: Layer) -> bool:
        """Whether more than the gap they must keep is room: an edge is no better for being far."""
        return Sort.BESIDE not in (a.sort, b.sort)

    def _one_way(self, a: Layer, b: Layer) -> float | None:
        if a.sort is Sort.SOLID and b.sort is Sort.SOLID:
            return self._solids(a, b)
        if a.sort is Sort.CUT and b.sort is Sort.CUT and a.face is b.face:
            return self._look.need("webs", web(self._thickness(a.face)))
        if a.sort is Sort.OLD and a.face is b.face and not self._loose:
            # Somewhere on a hole may be just the place: `fit.solve.second_look`.
            if b.sort is Sort.CUT:
                return self._look.need("webs", web(self._thickness(a.face)))
            return 0.0 if b.sort is Sort.SOLID and b.mounted and b.outside else None
        if a.sort is Sort.CONTROL and b.sort is Sort.CONTROL and a.face is b.face:
            assert a.control is not None and b.control is not None
            usual = self._look.need("fingers", finger_gap(a.control, b.control))
            return max(usual, self._finger)
        if a.sort is Sort.SPANNER and b.sort is Sort.SOLID:
            return self._spanner(a, b)
        if a.sort is Sort.BEHIND and b.sort is Sort.SOLID:
            if b.rises and b.half is a.half:
                return self._look.need("posts-behind", window_to_post() if a.window else 0.0)
            return None
        if a.sort is Sort.TAKING and b.sort is Sort.SOLID:
            seen = b.half is a.half and not (b.moulded or b.outside or b.soft)
            return 0.0 if seen else None
        if a.sort is Sort.BESIDE and b.sort is Sort.PIECE and b.lies_on == a.owner:
            return self._look.need("joint-carried", 0.0)
        if a.sort is Sort.REGION and a.face is b.face:
            return 0.0 if b.sort is Sort.CUT or (b.sort is Sort.SOLID and b.outside) else None
        return None

    def _solids(self, a: Layer, b: Layer) -> float | None:
        if a.outside is not b.outside:
            return None
        if (
            a.body is not None
            and b.body is not None
            and frozenset((a.body, b.body)) in self._exempt
        ):
            return None
        for one, two in ((a, b), (b, a)):
            if one.moulded and one.half is Half.LID and two.half is Half.BODY and self._loose:
                return None
        usual = gap_of_kinds(a.thing, b.thing, plastic=a.moulded or b.moulded)
        return self._look.need("bodies", usual)

    def _spanner(self, turning: Layer, solid: Layer) -> float | None:
        if solid.outside is not turning.outside or solid.late:
            return None
        if solid.moulded:
            seen = not turning.outside and solid.half is turning.half
        else:
            seen = solid.mounted and solid.face is turning.face
        return self._look.need("spanner", needed_gap(Thing.NUT, Thing.NUT)) if seen else None

    def _thickness(self, face: FaceName | None) -> float:
        assert face is not None
        return self._look.scene.faces[face].thickness

    def to_wall(self, layer: Layer, face: FaceName, half: Half) -> float | None:
        """What a layer must keep to an inner surface, mm; None where it may pass it."""
        if layer.outside or layer.moulded or layer.face is face:
            return None
        if layer.sort is Sort.SPANNER:
            if half is not layer.half:
                return None
            return self._look.need("spanner", needed_gap(Thing.NUT, Thing.WALL))
        if layer.sort is not Sort.SOLID:
            return None
        lid = half is not layer.half
        if lid and half is Half.BODY and face is not FaceName.FLOOR:
            lid = False
        return self._look.need("lid" if lid else "walls", gap_to_wall(layer.thing, face))

    def to_edge(self, layer: Layer, *, rim: bool) -> float:
        """What a cut must keep to an edge of its face, mm."""
        assert layer.face is not None
        face = self._look.scene.faces[layer.face]
        return edge_need(self._look, face, window_at_rim=rim and layer.window)
