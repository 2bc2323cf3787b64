# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs in a process of its own: installed_extension.py ZIP FILE. Installs the zip as a user does, writes what it finds as JSON."""

import importlib
import json
import operator
import os
import sys
from pathlib import Path

import bpy  # first: it brings the host's modules

import addon_utils  # isort: skip

MODULE = "bl_ext.user_default.fenderwright"
PREFIX = "FENDERWRIGHT_"


def handlers():
    """Our functions among the host's handlers."""
    lists = {name: getattr(bpy.app.handlers, name) for name in dir(bpy.app.handlers)}
    functions = [(name, function) for name, value in lists.items() if isinstance(value, list) for function in value]
    return sorted(f"{name}: {function.__name__}" for name, function in functions if function.__module__.startswith(MODULE))


def registered():
    """Names of all our classes that the host knows."""
    kinds = (
        bpy.types.Panel,
        bpy.types.Operator,
        bpy.types.PropertyGroup,
        bpy.types.Menu,
        bpy.types.UIList,
        bpy.types.AddonPreferences,
    )
    return sorted(
        {
            cls.__name__
            for kind in kinds
            for cls in kind.__subclasses__()
            if cls.__module__.startswith(MODULE) and cls.is_registered
        }
    )


def texts_of(cls):
    """What a person reads of a class: its label and tooltip, and those of its properties and of their choices."""
    kind = next(base.__name__ for base in cls.__mro__[1:] if base.__module__.startswith(("bpy", "_bpy")))
    rna = cls.bl_rna
    if kind == "Operator":  # what the host shows, which takes the tooltip from the docstring
        rna = operator.attrgetter(cls.bl_idname)(bpy.ops).get_rna_type()
    texts = {
        "name": cls.__name__,
        "kind": kind,
        "label": rna.name,
        "tooltip": rna.description,
        "properties": [],
    }
    if hasattr(cls, "bl_label"):
        texts["label"] = cls.bl_label
    own = {name for base in cls.__mro__ for name in getattr(base, "__annotations__", {})}
    for prop in rna.properties:
        if prop.identifier not in own or prop.is_hidden:
            continue
        choices = [[item.name, item.description] for item in prop.enum_items] if prop.type == "ENUM" else []
        texts["properties"].append({"name": prop.identifier, "label": prop.name, "tooltip": prop.description, "choices": choices})
    return texts


def site_packages():
    """Names that the host has unpacked of the wheels inside the zip."""
    local = Path(os.environ["BLENDER_USER_RESOURCES"], "extensions", ".local")
    return sorted(path.name for folder in local.rglob("site-packages") for path in folder.iterdir())


def main(package, file):
    found = {"host": bpy.app.version_string, "handlers": [], "registered": []}
    bpy.ops.extensions.package_install_files(repo="user_default", filepath=package, enable_on_install=True)
    found["enabled"] = MODULE in bpy.context.preferences.addons
    found["site_packages"] = site_packages()
    found["registered"].append(registered())
    found["handlers"].append(handlers())
    classes = importlib.import_module(MODULE + ".ui.registration").CLASSES
    found["texts"] = [texts_of(cls) for cls in classes]
    for _ in range(2):
        addon_utils.disable(MODULE, default_set=True)
        found["handlers"].append(handlers())
        found["registered"].append(registered())
        addon_utils.enable(MODULE, default_set=True)
        found["handlers"].append(handlers())
        found["registered"].append(registered())
    found["warnings"] = addon_utils._extensions_warnings_get().get(MODULE, [])
    addon_utils.disable(MODULE, default_set=True)
    Path(file).write_text(json.dumps(found), encoding="utf-8")


main(*sys.argv[1:])
