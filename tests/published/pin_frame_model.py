"""A frame without wires as plain linear beams in openseespy: half-pins, posts, tilted rings, rings
in halves, struts with their ends, callus.

Nothing of it is tensioned, so small displacements are the whole truth, and the six by six
compliance of the gap follows from unit loads. Written from the case file's description alone.

Rings are polygons of Timoshenko beams; arms are rigid links; joints, cortices and ends of rods are
springs at one place. Units N, mm, rad; x anterior, y towards the patient's left, z proximal.
"""

from collections.abc import Mapping
from itertools import count, pairwise
from math import ceil, cos, degrees, pi, radians, sin, sqrt
from typing import Any

import numpy as np
import openseespy.opensees as ops
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from tests.reference_solver.sections import Section, rectangle, round_section

Vector = NDArray[np.float64]
STEEL = (193_000.0, 0.3)
STIFF = 1e10  # N/mm and N·mm/rad, of what does not give at a joint
RING_STEP_DEG = 2.0
NMM_PER_RAD = 1000.0 * 180.0 / pi


class PinFrame:
    """Builds the frame of a case (a dict) and gives the compliance at its gap."""

    def __init__(self, case: Mapping[str, Any]) -> None:
        self.case = case
        self.side = {"right": 1.0, "left": -1.0}[case["case"]["side"]]
        self.tags, self.transforms = count(1), count(1)
        ops.wipe()
        ops.model("basic", "-ndm", 3, "-ndf", 6)
        self.turn = {r["name"]: self._turn(r) for r in case["ring"]}
        self.rings = {r["name"]: r for r in case["ring"]}
        self.corners = {r["name"]: self._ring(r) for r in case["ring"]}
        for rod in case["rod"]:
            self._rod(rod)
        self.bone = case["bone"]
        self.axis = self._bone()
        for pin in case["pin"]:
            self._pin(pin)

    def compliance(self) -> Vector:
        """(6, 6) C of the gap's centre, proximal against distal face, global axes."""
        half = 0.5 * self.bone["gap_mm"]
        faces = (self.axis[half], self.axis[-half])
        ops.fix(self.axis[self.bone["distal_end_mm"]], 1, 1, 1, 1, 1, 1)
        carry = []
        for level in (half, -half):
            motion = np.eye(6)  # u - θ × (0, 0, level)
            motion[0, 4], motion[1, 3] = -level, level
            carry.append(motion)
        C = np.zeros((6, 6))
        for j in range(6):
            ops.timeSeries("Linear", j + 1)
            ops.pattern("Plain", j + 1, j + 1)
            for face, by, way in zip(faces, carry, (1.0, -1.0), strict=True):
                ops.load(face, *(way * by.T[:, j]).tolist())
            ops.constraints("Transformation")
            ops.numberer("RCM")
            ops.system("UmfPack")
            ops.algorithm("Linear")
            ops.integrator("LoadControl", 1.0)
            ops.analysis("Static")
            assert ops.analyze(1) == 0
            moved = [np.array(ops.nodeDisp(face)) for face in faces]
            C[:, j] = carry[0] @ moved[0] - carry[1] @ moved[1]
            ops.remove("loadPattern", j + 1)
            ops.wipeAnalysis()
            ops.reset()
        return C

    def _turn(self, ring: Mapping[str, Any]) -> Vector:
        b = radians(ring.get("tilt_bearing_deg", 0.0))
        axis = np.cross([cos(b), self.side * sin(b), 0.0], [0.0, 0.0, 1.0])
        return np.asarray(
            Rotation.from_rotvec(radians(ring.get("tilt_deg", 0.0)) * axis).as_matrix()
        )

    def _centre(self, name: str) -> Vector:
        anterior, medial = self.rings[name].get("centre_mm", (0.0, 0.0))
        return np.array([anterior, self.side * medial, self.rings[name]["level_mm"]])

    def _hole(self, name: str, bearing_deg: float, radius: float) -> Vector:
        b = radians(bearing_deg)
        out = self.turn[name] @ np.array([cos(b), self.side * sin(b), 0.0])
        return np.asarray(self._centre(name) + radius * out)

    def _hole_radius(self, name: str) -> float:
        ring = self.rings[name]
        return 0.5 * ring.get("hole_circle_mm", ring["inner_diameter_mm"] + ring["width_mm"])

    def _node(self, point: Vector) -> int:
        tag = next(self.tags)
        ops.node(tag, *np.asarray(point).tolist())
        return tag

    def _arm(self, master: int, point: Vector) -> int:
        tag = self._node(point)
        ops.rigidLink("beam", master, tag)
        return tag

    def _beam(self, i: int, j: int, s: Section, up: Vector) -> None:
        frame = next(self.transforms)
        ops.geomTransf("Linear", frame, *np.asarray(up, float).tolist())
        constants = (s.E, s.G, s.A, s.J, s.I2, s.I3, s.As2, s.As3)
        ops.element("ElasticTimoshenkoBeam", next(self.tags), i, j, *constants, frame)

    def _spring(self, i: int, j: int, constants: Vector, x: Vector, y: Vector) -> None:
        """Springs at one place along x, y, x × y and about them."""
        materials = []
        for k in constants:
            tag = next(self.tags)
            ops.uniaxialMaterial("Elastic", tag, float(k))
            materials.append(tag)
        ops.element(
            "zeroLength",
            next(self.tags),
            i,
            j,
            "-mat",
            *materials,
            "-dir",
            1,
            2,
            3,
            4,
            5,
            6,
            "-orient",
            *np.asarray(x, float).tolist(),
            *np.asarray(y, float).tolist(),
        )

    def _attached(self, name: str) -> list[float]:
        """Bearings in the ring's plane of all that is fixed on it."""
        found = []
        for rod in self.case["rod"]:
            for ring, bearing in zip(rod["rings"], rod["bearings_deg"], strict=True):
                if ring == name:
                    found.append(bearing)
        for pin in self.case["pin"]:
            if pin["ring"] == name:
                own = self.turn[name].T @ (self._line(pin)[0] - self._centre(name))
                found.append(degrees(np.arctan2(self.side * own[1], own[0])))
        return [b % 360.0 for b in found]

    def _ring(self, ring: Mapping[str, Any]) -> dict[float, int]:
        """Nodes by bearing; at a cut the node on the side of growing bearing."""
        E, nu = STEEL
        section = rectangle(ring["width_mm"], ring["thickness_mm"], E, nu)
        radius = 0.5 * (ring["inner_diameter_mm"] + ring["width_mm"])
        name, normal = ring["name"], self.turn[ring["name"]][:, 2]
        cuts = []
        if "halves" in ring:
            cuts = [(ring["split_bearing_deg"] + turn) % 360.0 for turn in (0.0, 180.0)]
        bearings = sorted({round(b, 9) for b in (*self._attached(name), *cuts)})
        corners = {b: self._node(self._hole(name, b, radius)) for b in bearings}
        before = {b: self._node(self._hole(name, b, radius)) for b in cuts}
        for start, end in pairwise([*bearings, bearings[0] + 360.0]):
            pieces = max(1, ceil((end - start) / RING_STEP_DEG))
            inner = [start + (end - start) * k / pieces for k in range(1, pieces)]
            key = round(end % 360.0, 9)
            last = before.get(key, corners[key])
            chain = [
                corners[start],
                *(self._node(self._hole(name, b, radius)) for b in inner),
                last,
            ]
            for i, j in pairwise(chain):
                self._beam(i, j, section, normal)
        for number, b in enumerate(cuts):
            turning = ring["joint_Nm_per_deg"] * NMM_PER_RAD
            hinge = 0.0 if ring["halves"] == "hinged" and number == 0 else turning
            out = self._hole(name, b, 1.0) - self._centre(name)
            constants = np.array([1e6, 1e6, 1e6, turning, hinge, turning])
            self._spring(before[b], corners[b], constants, out, normal)  # third: the tangent
        return corners

    def _rod(self, rod: Mapping[str, Any]) -> None:
        """A strut between two rings, its ends on springs."""
        section = round_section(rod["diameter_mm"], *STEEL)
        turning = {"fixed": STIFF, "hinged": 0.0}.get(rod["ends"], 0.0)
        if rod["ends"] == "conical washers":
            turning = rod["end_Nm_per_deg"] * NMM_PER_RAD
        places = [
            self._hole(name, b, self._hole_radius(name))
            for name, b in zip(rod["rings"], rod["bearings_deg"], strict=True)
        ]
        along = (places[1] - places[0]) / np.linalg.norm(places[1] - places[0])
        across = np.cross(along, [0.3, 0.2, 0.9])
        ends = []
        for name, b, place in zip(rod["rings"], rod["bearings_deg"], places, strict=True):
            hole = self._arm(self.corners[name][round(b % 360.0, 9)], place)
            end = self._node(place)
            constants = np.array([STIFF, STIFF, STIFF, STIFF, turning, turning])
            self._spring(hole, end, constants, along, across)
            ends.append(end)
        self._beam(ends[0], ends[1], section, across)

    def _bone(self) -> dict[float, int]:
        bone = self.bone
        half = 0.5 * bone["gap_mm"]
        section = round_section(bone["outer_mm"], 17_000.0, 0.3, bone["inner_mm"])
        levels = {pin["name"]: self._level(pin) for pin in self.case["pin"]}
        axis: dict[float, int] = {}
        for face, end in ((half, bone["proximal_end_mm"]), (-half, bone["distal_end_mm"])):
            own = {z for z in levels.values() if z * face > 0.0} | {face, end}
            nodes = {z: self._node(np.array([0.0, 0.0, z])) for z in own}
            for a, b in pairwise(sorted(nodes)):
                self._beam(nodes[a], nodes[b], section, np.array([1.0, 0.0, 0.0]))
            axis |= nodes
        callus = bone.get("callus")
        if callus is not None:
            tube = round_section(bone["outer_mm"], callus["E_MPa"], 0.3, bone["inner_mm"])
            self._beam(axis[-half], axis[half], tube, np.array([1.0, 0.0, 0.0]))
        return axis

    def _line(self, pin: Mapping[str, Any]) -> tuple[Vector, Vector, Vector]:
        """Clamp, middle of the near wall, middle of the far wall."""
        R, C = self.turn[pin["ring"]], self._centre(pin["ring"])
        b, t = radians(pin["bearing_deg"]), radians(pin.get("tilt_deg", 0.0))
        forward = np.array([cos(b), self.side * sin(b), 0.0])
        aside = R @ np.array([-sin(b), self.side * cos(b), 0.0])
        along = R @ (cos(t) * forward + sin(t) * np.array([0.0, 0.0, 1.0]))
        on_axis = np.array([0.0, 0.0, (R[:, 2] @ C + pin["height_mm"]) / R[2, 2]])
        point = on_axis + pin.get("offset_mm", 0.0) * aside
        wall = 0.25 * (self.bone_size()[0] + self.bone_size()[1])
        own_point, own_way = R.T @ (point - C), R.T @ along
        (clamp, _), (near, far) = (
            _crossings(own_point[:2], own_way[:2], self._hole_radius(pin["ring"])),
            _crossings(point[:2], along[:2], wall),
        )
        return point + clamp * along, point + near * along, point + far * along

    def bone_size(self) -> tuple[float, float]:
        """Outer and inner diameter."""
        return self.case["bone"]["outer_mm"], self.case["bone"]["inner_mm"]

    def _held(self, pin: Mapping[str, Any]) -> list[Vector]:
        return list(self._line(pin)[1 : 1 + pin.get("cortices", 2)])

    def _level(self, pin: Mapping[str, Any]) -> float:
        return float(np.mean([at[2] for at in self._held(pin)]))

    def _pin(self, pin: Mapping[str, Any]) -> None:
        name = pin["ring"]
        clamp = self._line(pin)[0]
        own = self.turn[name].T @ (clamp - self._centre(name))
        bearing = round(degrees(np.arctan2(self.side * own[1], own[0])) % 360.0, 9)
        if "post_diameter_mm" in pin and abs(own[2]) >= 5.0:
            foot = self._arm(self.corners[name][bearing], clamp - own[2] * self.turn[name][:, 2])
            start = self._node(clamp)
            self._beam(foot, start, round_section(pin["post_diameter_mm"], *STEEL), [1.0, 0.2, 0.1])
        else:
            start = self._arm(self.corners[name][bearing], clamp)
        d, section = pin["diameter_mm"], round_section(pin["diameter_mm"], *STEEL)
        outer, inner = self.bone_size()
        t, E = 0.5 * (outer - inner), 17_000.0
        across = E * t**3 / 12.0
        hold = np.array([E * t, E * t, E * t, E * t * d**2 / 4.0, across, across])
        for at in self._held(pin):
            end = self._node(at)
            along = (at - clamp) / np.linalg.norm(at - clamp)
            aside = np.cross(along, [0.1, 0.2, 0.9])
            wall = self._arm(self.axis[self._level(pin)], at)
            self._spring(wall, end, hold, along, aside)
            self._beam(start, end, section, aside)
            start = end


def _crossings(point: Vector, way: Vector, radius: float) -> tuple[float, float]:
    """Where |point + t way| = radius, (2,) vectors: the larger t first."""
    a, b, c = way @ way, point @ way, point @ point - radius**2
    root = sqrt(b * b - a * c)
    return (-b + root) / a, (-b - root) / a
