# SPDX-License-Identifier: GPL-3.0-or-later
"""3MF read back by lib3mf in strict mode, and its parts and placements from the XML by 3MF Core 1.4.0, 3.3 and 4.1."""

import zipfile
from pathlib import Path
from xml.etree import ElementTree

import lib3mf
import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.spatial.transform import Rotation

from addon.core.mesh.triangle_mesh import TriangleMesh
from addon.output.three_mf_file import PrintPart, ThreeMfUnavailableError, write_three_mf
from tests.host.outside_meshes import box_mesh, torus_mesh

NAMESPACE = {"m": "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"}


def two_parts() -> list[PrintPart]:
    placement = np.eye(4)
    placement[:3, :3] = Rotation.from_euler("xyz", [30, -50, 110], degrees=True).as_matrix()
    placement[:3, 3] = [110.0, 95.0, 400.0]
    shifted = np.eye(4)
    shifted[:3, 3] = [50, 60, 70]
    return [PrintPart("Fender Front", torus_mesh(), placement), PrintPart("Fender Rear", box_mesh(20, 30, 40), shifted)]


def test_strict_reader_finds_the_parts(tmp_path: Path) -> None:
    parts = two_parts()
    write_three_mf(tmp_path / "fender.3mf", parts)
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(tmp_path / "fender.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    items = model.GetBuildItems()
    names = []
    while items.MoveNext():
        content = items.GetCurrent().GetObjectResource()
        mesh = model.GetMeshObjectByID(content.GetUniqueResourceID())
        assert mesh.IsManifoldAndOriented()
        names.append((mesh.GetName(), mesh.GetVertexCount(), mesh.GetTriangleCount()))
    assert names == [(part.name, len(part.mesh.vertices), len(part.mesh.triangles)) for part in parts]


def test_xml_puts_each_part_where_it_is_printed(tmp_path: Path) -> None:
    parts = two_parts()
    write_three_mf(tmp_path / "fender.3mf", parts)
    with zipfile.ZipFile(tmp_path / "fender.3mf") as package:
        root = ElementTree.fromstring(package.read("3D/3dmodel.model"))
    assert root.get("unit", "millimeter") == "millimeter"
    meshes = {item.get("id"): item for item in root.iterfind("m:resources/m:object", NAMESPACE)}
    items = list(root.iterfind("m:build/m:item", NAMESPACE))
    assert len(items) == len(parts)
    for item, part in zip(items, parts, strict=True):
        vertices = np.array(
            [
                [float(v.get(axis)) for axis in "xyz"]
                for v in meshes[item.get("objectid")].iterfind("m:mesh/m:vertices/m:vertex", NAMESPACE)
            ]
        )
        rows = np.array(item.get("transform").split(), dtype=float).reshape(4, 3)
        placed = vertices @ rows[:3] + rows[3]
        expected = part.mesh.vertices @ part.placement[:3, :3].T + part.placement[:3, 3]
        # float32 and six decimals in the text
        assert_allclose(placed, expected, atol=2e-4)


def test_open_mesh_is_refused(tmp_path: Path) -> None:
    box = box_mesh(1, 1, 1)
    lidless = TriangleMesh(box.vertices, box.triangles[:-1])
    with pytest.raises(ValueError, match="Lidless is not a closed mesh"):
        write_three_mf(tmp_path / "fender.3mf", [PrintPart("Lidless", lidless, np.eye(4))])
    assert not (tmp_path / "fender.3mf").exists()


def test_no_part_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="at least one part"):
        write_three_mf(tmp_path / "fender.3mf", [])


def test_missing_library_is_said_clearly(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail() -> None:
        raise OSError("no such library")

    monkeypatch.setattr(lib3mf, "get_wrapper", fail)
    with pytest.raises(ThreeMfUnavailableError, match="No 3MF was written: lib3mf cannot be loaded here .no such library"):
        write_three_mf(tmp_path / "fender.3mf", two_parts())
    assert not (tmp_path / "fender.3mf").exists()


def test_unwritable_place_raises_pythons_own_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_three_mf(tmp_path / "missing" / "fender.3mf", two_parts())
