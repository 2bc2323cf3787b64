# SPDX-License-Identifier: GPL-3.0-or-later
"""The sections of the job sheet: their keys, what each may hold, and its default.

Field names are the keys of the sheet. Lengths in mm, angles in degrees, speeds in km/h. A field whose key is not in the
sheet takes the default that stands beside it here; defaults that depend on other keys are in job_defaults.py. Budget
values that are None were not stated: the budget then takes its own default and says so.
"""

from __future__ import annotations

from dataclasses import MISSING, dataclass, field
from typing import Any

from ..tables.bolt_seats import HARDWARE, HARDWARE_OF_NUTS, WASHERS
from ..tables.fasteners import FITS, THREADS
from ..tables.laminates import CLOTH_RATIO, MAT_RATIO, PLIES, RESINS, USUAL_TEMPERATURE_C, WASTE
from ..tables.materials import MATERIALS, ROAD_MATERIAL
from ..tables.mold_rules import FLANGE_MM, LEAST_FLANGE_MM, MOST_FLANGE_MM, OVERLAP_MM, RETURN_MM, STRAIN
from .sheet_keys import Choice, ForwardAndRearward, Items, Kind, Number, Numbers, Text, Whole

EDGE_KINDS = ("round", "bead", "square")
"""How a rim is closed; wall/rim_profile.py draws them."""

_POINT = Numbers(3, Number(-3000.0, 3000.0))


def _key(kind: Kind, default: object = MISSING) -> Any:
    """A field of a section; without a default the sheet must state it."""
    if default is MISSING:
        return field(metadata={"kind": kind})
    return field(default=default, metadata={"kind": kind})


@dataclass(frozen=True, kw_only=True)
class Wheel:
    """Which wheel, and the speed it must allow for."""

    position: str = _key(Choice(("front", "rear")), "front")
    top_speed_kmh: float | None = _key(Number(10.0, 400.0, "km/h"), None)


@dataclass(frozen=True, kw_only=True)
class Tire:
    """The tire: size code, and what was measured of it, static and unloaded.

    profile : ((offset, drop), ...) from the crown outward, drop below the crown
    sigma : one standard deviation of a hand reading
    measuring_rim_in : rim width that the size is defined on, for sizes that the table does not hold
    """

    size: str = _key(Text(60))
    use: str = _key(Choice(("normal", "snow", "special")), "normal")
    rim_width_in: float | None = _key(Number(1.0, 15.0, "inches"), None)
    measuring_rim_in: float | None = _key(Number(1.0, 15.0, "inches"), None)
    measured_radius: float | None = _key(Number(100.0, 500.0), None)
    measured_width: float | None = _key(Number(30.0, 400.0), None)
    profile: tuple[tuple[float, float], ...] | None = _key(Items(Numbers(2, Number(0.0, 250.0)), 3, 2000, "[offset, drop]"), None)
    sigma: float | None = _key(Number(0.0, 20.0), None)


@dataclass(frozen=True, kw_only=True)
class Mount:
    """The mount face and its bolts; see mount.py for the plane.

    bolts : ((x, ahead), ...) in the mount plane, from the pattern center
    pad : radius of the seat about each bolt axis
    plate : (width, length, thickness) of the bracket's plate
    carried_by : what the bracket is fixed to: fork legs or swingarm ("axle"), the lower triple clamp ("steering"), the frame
    heads : which side of fender and plate the screw heads are on, None for inside, or as the hardware has it; nuts are on the other
    hardware : what is bored for the screw, from the face away from the bracket; see bore.py
    washer : between head and print, None as usual for the hardware; recess : its depth, None as deep as the head needs
    slots : ((way, turn), ...) that the bolts may move, one for all or one a bolt; turn as of an opening
    """

    height: float = _key(Number(1.0, 400.0))
    ahead: float = _key(Number(-300.0, 300.0), 0.0)
    tilt: float = _key(Number(-60.0, 60.0, "degrees"), 0.0)
    side: str = _key(Choice(("under", "over")), "under")
    bolts: tuple[tuple[float, float], ...] = _key(Items(Numbers(2, Number(-300.0, 300.0)), 1, 16, "bolts [x, ahead]"))
    thread: str = _key(Choice(THREADS))
    fit: str = _key(Choice(FITS), "medium")
    pad: float = _key(Number(3.0, 100.0))
    blend: float = _key(Number(0.0, 200.0), 12.0)
    plate: tuple[float, float, float] | None = _key(Numbers(3, Number(1.0, 500.0)), None)
    carried_by: str = _key(Choice(("axle", "steering", "frame")), "axle")
    heads: str | None = _key(Choice(("inside", "outside")), None)
    hardware: str = _key(Choice(HARDWARE), "plain")
    washer: str | None = _key(Choice(WASHERS), None)
    recess: float | None = _key(Number(0.05, 30.0), None)
    slots: tuple[tuple[float, float], ...] | None = _key(
        Items(Numbers(2, Number(-360.0, 360.0, "")), 1, 16, "slots [way, turn]"), None
    )

    @property
    def nut_on_fender(self) -> bool:
        """True if the nuts are on the fender and the heads on the bracket."""
        # a head is lower than a nut with the end of its screw, so heads go inside where nothing else is stated
        heads_under = (self.heads or "inside") == "inside"
        return self.hardware in HARDWARE_OF_NUTS and heads_under != (self.side == "under")


@dataclass(frozen=True, kw_only=True)
class FurtherSeat:
    """A seat beside the mount, such as an ear to a fork leg or a strut's foot.

    center : of its bolt pattern, on the bracket's face, wheel axes; normal : from the fender to the bracket
    bolts : ((x, ahead), ...) in its plane; ahead is the bike's way forward there, up where the plane faces forward or rearward
    turn : of the pattern in its plane, from ahead to x, which is to the left as seen from the bracket
    pad : None for the least that the edge distance asks; bracket : thickness of what it bears on
    sides : "both" for its mirror image on the other side of the bike; the rest as for the mount
    """

    name: str = _key(Text(60))
    center: tuple[float, float, float] = _key(_POINT)
    normal: tuple[float, float, float] = _key(_POINT)
    turn: float = _key(Number(-180.0, 180.0, "degrees"), 0.0)
    bolts: tuple[tuple[float, float], ...] = _key(Items(Numbers(2, Number(-300.0, 300.0)), 1, 16, "bolts [x, ahead]"))
    thread: str = _key(Choice(THREADS), "M6")
    fit: str = _key(Choice(FITS), "medium")
    pad: float | None = _key(Number(3.0, 100.0), None)
    blend: float = _key(Number(0.0, 200.0), 12.0)
    bracket: float | None = _key(Number(0.5, 100.0), None)
    sides: str = _key(Choice(("one", "both")), "one")
    hardware: str = _key(Choice(HARDWARE), "plain")
    washer: str | None = _key(Choice(WASHERS), None)
    recess: float | None = _key(Number(0.05, 30.0), None)
    slots: tuple[tuple[float, float], ...] | None = _key(
        Items(Numbers(2, Number(-360.0, 360.0, "")), 1, 16, "slots [way, turn]"), None
    )

    @property
    def nut_on_fender(self) -> bool:
        """The heads of further seats are on the fender."""
        return False


@dataclass(frozen=True, kw_only=True)
class Clearance:
    """The allowances that a builder decides; the budget adds those of the tire.

    tire : "any" of this size that the standard allows, or only the "fitted" one, which must be measured
    sum : "worst" adds all allowances, "squares" those that vary on their own by squares
    """

    gap: float = _key(Number(1.0, 150.0))
    runout_radial: float | None = _key(Number(0.0, 30.0), None)
    runout_lateral: float | None = _key(Number(0.0, 30.0), None)
    flex: float | None = _key(Number(0.0, 50.0), None)
    coverage_factor: float = _key(Number(0.0, 6.0, ""), 2.0)
    tire: str = _key(Choice(("any", "fitted")), "any")
    sum: str = _key(Choice(("worst", "squares")), "worst")


@dataclass(frozen=True, kw_only=True)
class Keepout:
    """A further body to stay away from; which of the shape fields are set depends on the kind.

    scallop : mm beyond what is required that the trimmed edge keeps from the body; None if the skin keeps clear by its shape

    capsule : a, b, radius. box : center, size, rotation (degrees about x, then y, then z). halfspace : point, normal; the
    body is on the side opposite the normal. mesh : file (relative to the sheet) or object (name in the .blend).
    """

    name: str = _key(Text(60))
    kind: str = _key(Choice(("capsule", "box", "halfspace", "mesh")))
    gap: float = _key(Number(0.0, 150.0), 5.0)
    moves_with: str = _key(Choice(("wheel", "steering", "chassis")), "wheel")
    scallop: float | None = _key(Number(0.0, 150.0), None)
    side: str | None = _key(Choice(("inside", "outside")), None)
    a: tuple[float, float, float] | None = _key(_POINT, None)
    b: tuple[float, float, float] | None = _key(_POINT, None)
    radius: float | None = _key(Number(0.1, 500.0), None)
    center: tuple[float, float, float] | None = _key(_POINT, None)
    size: tuple[float, float, float] | None = _key(Numbers(3, Number(0.1, 3000.0)), None)
    rotation: tuple[float, float, float] | None = _key(Numbers(3, Number(-360.0, 360.0, "degrees")), None)
    point: tuple[float, float, float] | None = _key(_POINT, None)
    normal: tuple[float, float, float] | None = _key(_POINT, None)
    file: str | None = _key(Text(1000), None)
    object: str | None = _key(Text(255), None)


@dataclass(frozen=True, kw_only=True)
class Travel:
    """How chassis and axle move; None for what is not stated.

    bump, rebound : of the axle, up and down from where the bike was measured; fork_rake : of steering axis and fork from the vertical
    fork_offset : of the axle ahead of the steering axis; head : (ahead, up) of a point of that axis from the axle, in its place
    lock : (left, right); axle_slot : (forward, rearward) from where the axle was measured
    swingarm : length of one that is level; pivot : (ahead, up) of its pivot from the axle, in its place
    """

    bump: float | None = _key(Number(0.0, 400.0), None)
    rebound: float | None = _key(Number(0.0, 400.0), None)
    fork_rake: float | None = _key(Number(0.0, 60.0, "degrees"), None)
    fork_offset: float | None = _key(Number(-150.0, 250.0), None)
    head: tuple[float, float] | None = _key(Numbers(2, Number(-1500.0, 1500.0)), None)
    lock: tuple[float, float] | None = _key(Numbers(2, Number(0.0, 60.0, "degrees")), None)
    axle_slot: tuple[float, float] = _key(ForwardAndRearward(), (0.0, 0.0))
    swingarm: float | None = _key(Number(100.0, 1200.0), None)
    pivot: tuple[float, float] | None = _key(Numbers(2, Number(-1200.0, 1200.0)), None)


@dataclass(frozen=True, kw_only=True)
class CageShape:
    """The cage to start with. rise : height of the skin over its least allowed one, away from the seat; None as at the seat."""

    front: float = _key(Number(-175.0, 175.0, "degrees"))
    rear: float = _key(Number(-175.0, 175.0, "degrees"))
    half_width: float = _key(Number(15.0, 300.0))
    side_drop: float = _key(Number(0.0, 300.0))
    stations: int = _key(Whole(4, 40), 7)
    columns: int = _key(Whole(2, 12), 4)
    rise: float | None = _key(Number(0.0, 200.0), None)
    level: int = _key(Whole(1, 6), 4)


@dataclass(frozen=True, kw_only=True)
class Trim:
    """Corners in plan. front_radius, rear_radius : of the tips, None as shaped; corner : where a trimmed edge meets another"""

    front_radius: float | None = _key(Number(1.0, 300.0), None)
    rear_radius: float | None = _key(Number(1.0, 300.0), None)
    corner: float = _key(Number(0.0, 100.0), 8.0)


@dataclass(frozen=True, kw_only=True)
class TrimLine:
    """A line that the finished edge follows, seen in a view; what the seat is in stays.

    points : side (y, z), top (x, y) of the rider's left, for both sides; drop (station, mm below the crown), stations ascending.
    A line in side or top view is closed if its last point is its first, else it goes on straight past both ends.
    """

    name: str = _key(Text(60))
    view: str = _key(Choice(("side", "top", "drop")))
    points: tuple[tuple[float, float], ...] = _key(Items(Numbers(2, Number(-3000.0, 3000.0, "")), 2, 400, "points"))


@dataclass(frozen=True, kw_only=True)
class Opening:
    """A slot with round ends, or a circle where length and width are equal, clear of the rim, seen square to the skin.

    station, x : its center; turn : from the way forward to its length, toward the rider's left
    """

    name: str = _key(Text(60))
    station: float = _key(Number(-180.0, 180.0, "degrees"))
    x: float = _key(Number(-300.0, 300.0), 0.0)
    length: float = _key(Number(1.0, 300.0))
    width: float = _key(Number(1.0, 300.0))
    turn: float = _key(Number(-180.0, 180.0, "degrees"), 0.0)
    sides: str = _key(Choice(("one", "both")), "one")


@dataclass(frozen=True, kw_only=True)
class Wall:
    """The wall. side : where it lies from the skin. seat : a land of constant wall, or a pad solid down to the inner face.

    front_thickness, rear_thickness : at the tips, None as at the seat; ramp : length over which the wall thins, from the seat on
    painted_thickness : where the cage is painted with 1, less of the change where it is painted with less; None for none
    edge_size : radius of a bead, or of the corners of a square edge; 0 for sharp ones, None for what job_edges.py takes
    """

    thickness: float = _key(Number(0.4, 15.0))
    front_thickness: float | None = _key(Number(0.4, 15.0), None)
    rear_thickness: float | None = _key(Number(0.4, 15.0), None)
    ramp: float = _key(Number(10.0, 1000.0), 80.0)
    painted_thickness: float | None = _key(Number(0.4, 15.0), None)
    side: str = _key(Choice(("inside", "outside", "middle")), "inside")
    edge: str = _key(Choice(EDGE_KINDS), "round")
    edge_size: float | None = _key(Number(0.0, 15.0), None)
    seat: str = _key(Choice(("land", "pad")), "land")


@dataclass(frozen=True, kw_only=True)
class Rib:
    """A stiffening rib along the fender, raised on the face away from the tire; it runs out smoothly to all sides and before seats.

    front, rear : stations where it has run out; x : of its middle; width : at its foot; sides : "both" for its mirror image too
    """

    name: str = _key(Text(60))
    front: float = _key(Number(-180.0, 180.0, "degrees"))
    rear: float = _key(Number(-180.0, 180.0, "degrees"))
    x: float = _key(Number(-300.0, 300.0), 0.0)
    width: float = _key(Number(2.0, 100.0), 12.0)
    height: float = _key(Number(0.2, 30.0), 2.5)
    sides: str = _key(Choice(("one", "both")), "one")


@dataclass(frozen=True, kw_only=True)
class EdgeKinds:
    """Rims of the single edges where they differ from wall.edge and wall.edge_size. run : length of the change between them."""

    front: str | None = _key(Choice(EDGE_KINDS), None)
    front_size: float | None = _key(Number(0.1, 15.0), None)
    rear: str | None = _key(Choice(EDGE_KINDS), None)
    rear_size: float | None = _key(Number(0.1, 15.0), None)
    sides: str | None = _key(Choice(EDGE_KINDS), None)
    sides_size: float | None = _key(Number(0.1, 15.0), None)
    openings: str | None = _key(Choice(EDGE_KINDS), None)
    openings_size: float | None = _key(Number(0.1, 15.0), None)
    run: float = _key(Number(5.0, 200.0), 20.0)


@dataclass(frozen=True, kw_only=True)
class Split:
    """The cut and its joint. fit : gap between the mating faces.

    locate : what lines the pieces up and holds the wings outside of the bolts together: nothing more than the bolts, dowel pins
        through the lap, or keys; further cuts, through which no bolts go, get pins with "bolts" too
    pieces : "auto" cuts a half that the bed cannot hold again, "two" never does
    pin : diameter of the dowel pins; 0 for none through further cuts, which are then glued only
    """

    plane: str = _key(Choice(("across", "along", "none")), "across")
    joint: str = _key(Choice(("butt", "lap", "full_lap")), "lap")
    lap: float = _key(Number(2.0, 300.0), 20.0)
    fit: float = _key(Number(0.0, 2.0), 0.3)
    locate: str = _key(Choice(("bolts", "pins", "keys")), "bolts")
    pieces: str = _key(Choice(("auto", "two")), "auto")
    pin: float = _key(Number(0.0, 12.0), 3.0)


@dataclass(frozen=True, kw_only=True)
class Printer:
    """The printer and its material. compensate : whether the 3MF is scaled to make up for shrinkage; the STL never is.

    purpose : what the print is for: a fit on the bike, the road, or a plug to mold from; ways to print are ranked by that
    """

    bed: tuple[float, float, float] = _key(Numbers(3, Number(50.0, 3000.0)), (220.0, 220.0, 250.0))
    margin: float = _key(Number(0.0, 100.0), 5.0)
    nozzle: float = _key(Number(0.1, 2.0), 0.4)
    material: str = _key(Choice(MATERIALS), ROAD_MATERIAL)
    purpose: str = _key(Choice(("fit", "road", "plug")), "road")
    compensate: str = _key(Choice(("none", "3mf")), "none")


@dataclass(frozen=True, kw_only=True)
class Lay:
    """How a piece lies on the printer. name : of the piece; up : direction in wheel axes that points up there, of any length."""

    name: str = _key(Text(60))
    up: tuple[float, float, float] = _key(Numbers(3, Number(-1000.0, 1000.0, "")))


@dataclass(frozen=True, kw_only=True)
class Laminate:
    """The laminated part that follows the print.

    plies : from the face that is seen inward; route : "mold", the print is the plug that a mold is taken from, or "buck", it is laid over
    gel_coat : None for the usual one in a mold and none over a buck; mat_ratio, cloth_ratio : resin over fiber by mass
    hardener : percent of the resin's mass, None for what the table says at that temperature; waste : percent that is prepared on top
    pieces : of the mold, 2 part along the center plane; pull : way that the mold, or its left piece, leaves the plug, None for
        the one with the most draft; flange : width all round the plug; printed_mold : "yes" for the mold as solids to print, too
    shrink : percent that the part shrinks by in the mold, None for what the table says
    edge : of the part: "trim" is cut at the trim line, "return" turns out into a flange of edge_size, "roll" into a bend alone
    strain : percent that a flat pattern may be stretched or squeezed; overlap : of neighboring patterns, mm
    """

    plies: tuple[str, ...] = _key(Items(Choice(tuple(PLIES)), 1, 30, "plies"))
    resin: str = _key(Choice(tuple(RESINS)), "polyester")
    route: str = _key(Choice(("mold", "buck")), "mold")
    gel_coat: float | None = _key(Number(0.0, 2.0), None)
    mat_ratio: float = _key(Number(1.5, 4.0, ""), MAT_RATIO)
    cloth_ratio: float = _key(Number(0.4, 2.5, ""), CLOTH_RATIO)
    hardener: float | None = _key(Number(0.1, 200.0, "percent"), None)
    temperature: float = _key(Number(5.0, 40.0, "deg C"), USUAL_TEMPERATURE_C)
    waste: float = _key(Number(0.0, 100.0, "percent"), 100.0 * WASTE)
    pieces: int = _key(Whole(1, 2), 1)
    pull: tuple[float, float, float] | None = _key(Numbers(3, Number(-1000.0, 1000.0, "")), None)
    flange: float = _key(Number(LEAST_FLANGE_MM, MOST_FLANGE_MM), FLANGE_MM)
    printed_mold: str = _key(Choice(("no", "yes")), "no")
    shrink: float | None = _key(Number(0.0, 2.0, "percent"), None)
    edge: str = _key(Choice(("trim", "return", "roll")), "trim")
    edge_size: float = _key(Number(3.0, 30.0), RETURN_MM)
    strain: float = _key(Number(0.3, 10.0, "percent"), 100.0 * STRAIN)
    overlap: float = _key(Number(0.0, 100.0), OVERLAP_MM)


@dataclass(frozen=True, kw_only=True)
class Metal:
    """The same shape in sheet metal: a buck of plywood boards, templates, and the crown laid flat.

    sheet : thickness of the metal; plywood : of the boards; across, along : the most from one board across, or along, to the next
    foot : wood under the lowest edge; fit : play in the slots; wire : its diameter in a rolled edge, 0 for none
    wire_side : the face that the bead stands out of; strain : how much the crown may be stretched or shrunk to lie flat, percent
    """

    sheet: float = _key(Number(0.3, 4.0), 1.0)
    plywood: float = _key(Number(2.0, 40.0), 9.0)
    across: float = _key(Number(10.0, 500.0), 70.0)
    along: float = _key(Number(10.0, 300.0), 40.0)
    foot: float = _key(Number(10.0, 200.0), 30.0)
    fit: float = _key(Number(0.0, 2.0), 0.3)
    wire: float = _key(Number(0.0, 12.0), 0.0)
    wire_side: str = _key(Choice(("inside", "outside")), "inside")
    strain: float = _key(Number(0.01, 5.0, "percent"), 0.5)


@dataclass(frozen=True, kw_only=True)
class Coverage:
    """What coverage is measured by. axle_height : over the ground, mm; None for the radius of the tire, unloaded"""

    axle_height: float | None = _key(Number(50.0, 600.0), None)


@dataclass(frozen=True, kw_only=True)
class Target:
    """What spray is to keep off, as a ball. center : wheel axes; sides : "both" for its mirror image on the other side too"""

    name: str = _key(Text(60))
    center: tuple[float, float, float] = _key(_POINT)
    radius: float = _key(Number(5.0, 500.0), 60.0)
    sides: str = _key(Choice(("one", "both")), "one")


@dataclass(frozen=True, kw_only=True)
class BikeLine:
    """A line of the bike that a line of the fender is to go with, such as the lower edge of the tank or a belt line.

    part : of the fender, its crown or its edge on the rider's left; view, points : as of a trim line, side (y, z) or top (x, y)
    reach : how far from it the fender's line still counts; follow : share of the way that the fender is bent toward it
    """

    name: str = _key(Text(60))
    part: str = _key(Choice(("crown", "edge")), "crown")
    view: str = _key(Choice(("side", "top")), "side")
    points: tuple[tuple[float, float], ...] = _key(Items(Numbers(2, Number(-3000.0, 3000.0, "")), 2, 400, "points"))
    reach: float = _key(Number(1.0, 500.0), 80.0)
    follow: float = _key(Number(0.0, 1.0, ""), 0.0)
