"""Put a build together in the box frame: from what was written to one scene of solids."""

from __future__ import annotations

from dataclasses import dataclass, field

from fit.findings import Problem, UnusableInput
from fit.geometry.boards import BoardPlan, finish
from fit.geometry.box import Face, faces
from fit.geometry.fixtures import fixtures
from fit.geometry.frames import Pose
from fit.geometry.lying import on_posts, on_standoffs
from fit.geometry.noses import noses_of
from fit.geometry.old_holes import met, old_holes
from fit.geometry.panel import on_wall
from fit.geometry.piece import Mount, Piece
from fit.geometry.places import Spot, locate, pose_on, turn_in_use
from fit.geometry.scene import (
    Body,
    BodyId,
    FilterPlate,
    Opening,
    Placed,
    PlacedBoard,
    PlacedNose,
    Scene,
)
from fit.geometry.standing import Aim, add_joint, display_pose, level_out, stand
from fit.geometry.views import View, display_bodies, display_fixings, window_piece
from fit.model.build import Build, Used
from fit.model.part import Board, Display
from fit.model.words import UPRIGHT, FaceName, Half, Seat


@dataclass(slots=True)
class _Bench:
    """What has been put together so far."""

    build: Build
    faces: dict[FaceName, Face]
    spots: dict[FaceName, dict[str, Spot]] = field(default_factory=dict)
    mounts: dict[str, Mount] = field(default_factory=dict)
    views: dict[str, View] = field(default_factory=dict)
    plans: dict[str, BoardPlan] = field(default_factory=dict)
    placed: dict[str, Placed] = field(default_factory=dict)
    bodies: list[Body] = field(default_factory=list)
    openings: list[Opening] = field(default_factory=list)
    plates: list[FilterPlate] = field(default_factory=list)
    boards: list[PlacedBoard] = field(default_factory=list)
    noses: list[PlacedNose] = field(default_factory=list)
    touching: list[tuple[BodyId, BodyId]] = field(default_factory=list)
    open: list[str] = field(default_factory=list)

    def take(self, piece: Piece) -> None:
        """Add a part's bodies, openings and contacts."""
        self.bodies += piece.bodies
        self.openings += piece.openings
        self.touching += piece.touching


def assemble(build: Build) -> Scene:
    """Work a build out in the box frame.

    Parts whose place is open are left out and named in `Scene.open`; so is what depends on
    them.

    Raises:
        UnusableInput: when the file asks for something this box or part cannot do (a board on
            posts the box does not have, a standing board that carries nothing).
    """
    bench = _Bench(build, faces(build.box))
    _locate_all(bench)
    for used in build.parts:
        if used.name in bench.mounts and not isinstance(used.part, Board):
            _mount(bench, used)
    for used in build.parts:
        if isinstance(used.part, Board) and used.joined_to is None:
            _lay(bench, used, used.part)
    for used in build.parts:
        if isinstance(used.part, Board) and used.joined_to is not None:
            _stand(bench, used, used.part)
    _show_the_rest(bench)
    for plan in bench.plans.values():
        board, piece = finish(plan)
        bench.boards.append(board)
        bench.take(piece)
        noses, piece = noses_of(plan, bench.faces, build)
        bench.noses += noses
        bench.take(piece)
        bench.placed[plan.name] = _placed_board(bench, plan)
    return _scene(bench)


def _scene(bench: _Bench) -> Scene:
    order = {used.name: n for n, used in enumerate(bench.build.parts)}
    openings, there = met(
        sorted(bench.openings, key=lambda o: order[o.part]),
        old_holes(bench.build.box, bench.faces),
        {used.name: used for used in bench.build.parts},
        bench.faces,
        bench.build.drawer,
    )
    return Scene(
        build=bench.build,
        faces=bench.faces,
        bodies=(*fixtures(bench.build.box), *bench.bodies),
        openings=openings,
        boards=tuple(sorted(bench.boards, key=lambda b: order[b.name])),
        plates=tuple(bench.plates),
        placed=dict(sorted(bench.placed.items(), key=lambda kv: order[kv[0]])),
        touching=frozenset(frozenset(pair) for pair in bench.touching),
        open=tuple(sorted(bench.open, key=lambda name: order[name])),
        noses=tuple(sorted(bench.noses, key=lambda n: order[n.board])),
        there=there,
    )


def face_of(build: Build, used: Used) -> FaceName | None:
    """The face a part is mounted on; None for standing boards and parts without one."""
    if used.on in (Seat.CARRIER, Seat.POSTS):
        return FaceName.LID if build.carrier is Half.LID else FaceName.FLOOR
    return used.on if isinstance(used.on, FaceName) else None


def _locate_all(bench: _Bench) -> None:
    """Centres of all parts on faces, in as many rounds as `beside` chains need."""
    waiting = [u for u in bench.build.parts if face_of(bench.build, u) is not None]
    waiting = [u for u in waiting if not (u.on is Seat.POSTS and u.at is None)]
    while waiting:
        left = [used for used in waiting if not _locate(bench, used)]
        if len(left) == len(waiting):
            break
        waiting = left
    bench.open += [used.name for used in waiting]


def _locate(bench: _Bench, used: Used) -> bool:
    name = face_of(bench.build, used)
    assert name is not None
    face = bench.faces[name]
    turn = turn_in_use(used, name, bench.build.stands_on)
    spots = bench.spots.setdefault(name, {})
    spot = locate(face, used, turn, spots)
    if spot is None:
        return False
    spots[used.name] = spot
    bench.mounts[used.name] = Mount(
        owner=used.name,
        face=name,
        pose=pose_on(face, spot, turn),
        wall=face.thickness,
        across=spot.across,
        up=spot.up,
        turn=turn,
        half=Half.LID if name is FaceName.LID else Half.BODY,
        drawer=bench.build.drawer,
    )
    return True


def _mount(bench: _Bench, used: Used) -> None:
    mount = bench.mounts[used.name]
    if isinstance(used.part, Display):
        view, piece, plate = window_piece(used, mount, bench.build.hands)
        bench.views[used.name] = view
        bench.take(piece)
        if plate is not None:
            bench.plates.append(plate)
    else:
        bench.take(on_wall(used, mount))
    _note(bench, used, mount)


def _note(bench: _Bench, used: Used, mount: Mount) -> None:
    bench.placed[used.name] = Placed(
        used=used,
        face=mount.face,
        across=mount.across,
        up=mount.up,
        turn=mount.turn,
        pose=mount.pose,
        half=mount.half,
    )


def _lay(bench: _Bench, used: Used, board: Board) -> None:
    name = face_of(bench.build, used)
    if name is None:
        raise UnusableInput(
            (Problem(used.where, f"board '{used.name}' has no place", "give on: or joined_to:"),)
        )
    face = bench.faces[name]
    half = Half.LID if name is FaceName.LID else Half.BODY
    spot = bench.spots.get(name, {}).get(used.name)
    if used.on is Seat.POSTS:
        plan = on_posts(used, board, face, bench.build.box, spot)
    elif spot is None:
        return
    else:
        plan = on_standoffs(used, board, face, half, spot, bench.build.drawer)
    bench.plans[used.name] = plan


def _stand(bench: _Bench, used: Used, board: Board) -> None:
    main = bench.plans.get(used.joined_to or "")
    shown = [name for name in used.carries if name in bench.views]
    if main is None or (used.carries and not shown):
        bench.open.append(used.name)
        return
    if not shown:
        say = f"'{used.name}' stands on '{used.joined_to}' but carries no display"
        raise UnusableInput((Problem(used.where, say, "add carries: [name of the display]"),))
    first = bench.build.part(shown[0])
    aim = _aim(bench, first)
    plan = stand(used, board, main, aim)
    if used.joint is not None:
        add_joint(plan, main, used.joint)
    bench.plans[used.name] = plan
    for name in shown:
        shown_part = bench.build.part(name)
        pose = display_pose(plan, _aim(bench, shown_part), bench.mounts[name].turn)
        mount = bench.mounts[name]
        bodies = display_bodies(shown_part, pose, mount, plan.half)
        bench.bodies += bodies
        bench.touching += [((name, b.name), (used.name, "slab")) for b in bodies]
        _note_display(bench, shown_part, pose, plan.half)


def _aim(bench: _Bench, used: Used) -> Aim:
    display, mount = used.part, bench.mounts[used.name]
    assert isinstance(display, Display)
    if mount.face not in UPRIGHT:
        say = f"'{used.name}' is on the {mount.face}, but its board stands upright"
        raise UnusableInput((Problem(used.where, say, "put it on front, back, left or right"),))
    depth = bench.views[used.name].surface
    out = level_out(mount.pose.z)
    return Aim(point=mount.pose.point((0.0, 0.0, -depth)), out=out, display=display)


def _show_the_rest(bench: _Bench) -> None:
    """Displays held by the wall itself: parallel to it, at their depth."""
    carried = {name for used in bench.build.parts for name in used.carries}
    for name, view in bench.views.items():
        if name in carried:
            continue
        used, mount = bench.build.part(name), bench.mounts[name]
        pose = mount.pose.shifted((0.0, 0.0, -view.surface))
        bench.bodies += display_bodies(used, pose, mount, mount.half)
        bench.take(display_fixings(used, pose, mount))
        _note_display(bench, used, pose, mount.half)


def _note_display(bench: _Bench, used: Used, pose: Pose, half: Half) -> None:
    mount = bench.mounts[used.name]
    bench.placed[used.name] = Placed(
        used=used,
        face=mount.face,
        across=mount.across,
        up=mount.up,
        turn=mount.turn,
        pose=pose,
        half=half,
    )


def _placed_board(bench: _Bench, plan: BoardPlan) -> Placed:
    board = plan.board
    centre = plan.pose.shifted((board.size[0] / 2, board.size[1] / 2, 0.0))
    across, up = 0.0, 0.0
    if plan.face is not None:
        across, up, _ = bench.faces[plan.face].frame.inside(centre.origin)
    return Placed(
        used=plan.used,
        face=plan.face,
        across=across,
        up=up,
        turn=float(plan.used.turn),
        pose=plan.pose,
        half=plan.half,
    )
