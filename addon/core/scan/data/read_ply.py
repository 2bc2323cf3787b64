# SPDX-License-Identifier: GPL-3.0-or-later
"""PLY files, ASCII and binary: vertices, normals and faces."""

from __future__ import annotations

from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ...base.arrays import Array, Index
from ...base.errors import JobError
from .scan_data import Scan

TYPES = {
    "char": "i1",
    "int8": "i1",
    "uchar": "u1",
    "uint8": "u1",
    "short": "i2",
    "int16": "i2",
    "ushort": "u2",
    "uint16": "u2",
    "int": "i4",
    "int32": "i4",
    "uint": "u4",
    "uint32": "u4",
    "float": "f4",
    "float32": "f4",
    "double": "f8",
    "float64": "f8",
}
ORDERS = {"binary_little_endian": "<", "binary_big_endian": ">", "ascii": ""}


@dataclass
class Element:
    """One element of the header; properties : (name, type) or (name, count type, item type) for lists."""

    name: str
    count: int
    properties: list[tuple[str, ...]]

    @property
    def has_list(self) -> bool:
        return any(len(one) == 3 for one in self.properties)


def read_ply(path: Path) -> Scan:
    """The scan in a PLY file; faces with more than three corners are split into triangles.

    Raises JobError if the file is no PLY, is cut off, or has no vertices with x, y and z.
    Format: G. Turk, The PLY Polygon File Format (1994).
    """
    data = path.read_bytes()
    order, elements, start = _header(data, path.name)
    vertices: dict[str, NDArray[Any]] = {}
    triangles: Index = np.zeros((0, 3), np.int64)
    try:
        body = _AsciiBody(data[start:]) if order == "" else _BinaryBody(data, start, order)
        for element in elements:
            if element.name == "vertex":
                vertices = body.columns(element)
            elif element.name == "face":
                triangles = body.triangles(element)
            else:
                body.skip(element)
    except (ValueError, IndexError) as error:
        raise JobError(path.name, f"the PLY file is cut off or damaged ({error})") from error
    if not {"x", "y", "z"} <= vertices.keys():
        raise JobError(path.name, "the PLY file has no vertices with x, y and z")
    points = _stack(vertices, ("x", "y", "z"))
    if len(triangles) and (triangles.min() < 0 or triangles.max() >= len(points)):
        raise JobError(path.name, f"a face names the vertex {triangles.max()}, there are {len(points)}")
    normals = _stack(vertices, ("nx", "ny", "nz")) if {"nx", "ny", "nz"} <= vertices.keys() else None
    return Scan(points, triangles, normals)


def _stack(vertices: dict[str, NDArray[Any]], names: tuple[str, ...]) -> Array:
    return np.stack([vertices[name].astype(np.float64) for name in names], axis=1)


def _header(data: bytes, name: str) -> tuple[str, list[Element], int]:
    end = data.find(b"end_header")
    if not data.startswith(b"ply") or end < 0:
        raise JobError(name, "not a PLY file: it does not start with ply and a header")
    start = data.index(b"\n", end) + 1
    order, elements = None, []
    for line in data[:end].decode("ascii", "replace").splitlines():
        words = line.split()
        try:
            if words[:1] == ["format"]:
                order = ORDERS[words[1]]
            elif words[:1] == ["element"]:
                elements.append(Element(words[1], int(words[2]), []))
            elif words[:2] == ["property", "list"]:
                elements[-1].properties.append((words[4], TYPES[words[2]], TYPES[words[3]]))
            elif words[:1] == ["property"]:
                elements[-1].properties.append((words[2], TYPES[words[1]]))
        except (KeyError, IndexError, ValueError) as error:
            raise JobError(name, f"the PLY header has the line {line!r}, which is not understood") from error
    if order is None:
        raise JobError(name, "the PLY header does not tell its format")
    return order, elements, start


class _AsciiBody:
    """Reads the elements of an ASCII body one after the other."""

    def __init__(self, data: bytes) -> None:
        self._stream = BytesIO(data)

    def columns(self, element: Element) -> dict[str, NDArray[Any]]:
        if element.has_list:
            raise ValueError("lists at vertices")
        table = (
            np.loadtxt(self._stream, dtype=np.float64, max_rows=element.count, ndmin=2) if element.count else np.zeros((0, 99))
        )
        if len(table) < element.count:
            raise ValueError(f"{len(table)} of {element.count} vertices")
        return {one[0]: table[:, i] for i, one in enumerate(element.properties)}

    def triangles(self, element: Element) -> Index:
        rows = [np.array(self._stream.readline().split(), dtype=np.float64) for _ in range(element.count)]
        place = _list_place(element)
        faces = [row[place + 1 : place + 1 + int(row[place])].astype(np.int64) for row in rows]
        return _fans(faces)

    def skip(self, element: Element) -> None:
        for _ in range(element.count):
            self._stream.readline()


class _BinaryBody:
    """Reads the elements of a binary body one after the other."""

    def __init__(self, data: bytes, start: int, order: str) -> None:
        self._data, self._at, self._order = data, start, order

    def columns(self, element: Element) -> dict[str, NDArray[Any]]:
        if element.has_list:
            raise ValueError("lists at vertices")
        record = np.dtype([(one[0], self._order + one[1]) for one in element.properties])
        table = np.frombuffer(self._data, record, element.count, self._at)
        self._at += record.itemsize * element.count
        return {name: table[name] for name in record.names or ()}

    def triangles(self, element: Element) -> Index:
        whole = self._all_triangles(element)
        return self._one_by_one(element) if whole is None else whole

    def skip(self, element: Element) -> None:
        if element.has_list:
            self._one_by_one(element)
        else:
            self.columns(element)

    def _all_triangles(self, element: Element) -> Index | None:
        """All faces at once if each has three corners, as in nearly all scans; None otherwise."""
        fields: list[Any] = []
        place = _list_place(element)
        for i, one in enumerate(element.properties):
            if i == place:
                fields += [("count", self._order + one[1]), ("corners", self._order + one[2], (3,))]
            elif len(one) == 3:
                return None
            else:
                fields.append((one[0], self._order + one[1]))
        record = np.dtype(fields)
        if self._at + record.itemsize * element.count > len(self._data):
            return None
        table = np.frombuffer(self._data, record, element.count, self._at)
        if not (table["count"] == 3).all():
            return None
        self._at += record.itemsize * element.count
        return table["corners"].astype(np.int64)

    def _one_by_one(self, element: Element) -> Index:
        place, faces = _list_place(element), []
        for _ in range(element.count):
            for i, one in enumerate(element.properties):
                count = int(self._take(one[1], 1)[0]) if len(one) == 3 else 1
                values = self._take(one[-1], count)
                if i == place:
                    faces.append(values.astype(np.int64))
        return _fans(faces)

    def _take(self, kind: str, count: int) -> NDArray[Any]:
        values = np.frombuffer(self._data, self._order + kind, count, self._at)
        self._at += values.nbytes
        return values


def _list_place(element: Element) -> int:
    """Which property of the faces holds the corners; -1 if none, as in a mesh of strips."""
    names = [one[0] if len(one) == 3 else "" for one in element.properties]
    return next((i for i, name in enumerate(names) if name in ("vertex_indices", "vertex_index")), -1)


def _fans(faces: list[Index]) -> Index:
    """Triangles (t, 3) of polygons, each a fan from its first corner."""
    fans = [np.stack([np.full(len(face) - 2, face[0]), face[1:-1], face[2:]], axis=1) for face in faces if len(face) >= 3]
    return np.concatenate(fans) if fans else np.zeros((0, 3), np.int64)
