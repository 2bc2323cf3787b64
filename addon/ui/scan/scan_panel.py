# SPDX-License-Identifier: GPL-3.0-or-later
"""Panels of the scan: bring it in, mark it, align it, read what it told."""

from __future__ import annotations

from typing import Any

import bpy

from ...core.scan.data.hints import REGIONS
from ...core.tables.scan_colors import REGION_COLORS
from ..base.panel_parts import JobPanel, draw_list, draw_rows, draw_text, draw_value
from ..draw.swatches import swatch
from ..state import session
from ..state.job_values import missing_values
from ..state.scene_settings import settings_of
from .scan_properties import REGION_LABELS, scan_settings
from .scan_report import ScanReport, kept_report


class FENDERWRIGHT_PT_scan(JobPanel, bpy.types.Panel):
    """Scan of wheel and mount, from any position to wheel axes and into the sheet"""

    bl_label = "Scan"
    bl_order = 12

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.prepare()
        scan = scan_settings(context.scene)
        layout.operator("fenderwright.import_scan", icon="IMPORT")
        if scan.scan_object is None:
            return
        layout.prop(scan, "scan_object")
        column = layout.column(align=True)
        column.prop(scan, "up")
        column.prop(scan, "forward")
        column = layout.column(align=True)
        column.operator("fenderwright.align_scan", icon="ORIENTATION_GIMBAL")
        column.operator("fenderwright.turn_scan", icon="ARROW_LEFTRIGHT")
        column.operator("fenderwright.return_scan", icon="LOOP_BACK")
        if kept_report(scan.scan_object) is not None:
            _draw_missing(layout, context.scene)


def _draw_missing(layout: bpy.types.UILayout, scene: bpy.types.Scene) -> None:
    """Fields for what a scan cannot tell and the sheet does not hold yet; else what is wrong with the sheet."""
    settings = settings_of(scene)
    missing = missing_values(settings)
    if not missing:
        problem = session.of_scene(scene).problem
        draw_text(layout, problem or "The sheet is complete, a cage can be seeded", "ERROR" if problem else "CHECKMARK")
        return
    draw_text(layout, "The scan cannot tell these, please state them:", "INFO")
    for section, name in missing:
        group = getattr(settings, section)
        if hasattr(getattr(group, name), "add"):
            draw_list(layout, group, section, name)
        else:
            draw_value(layout, group, section, name)


class _ScanPanel(JobPanel):
    bl_parent_id = "FENDERWRIGHT_PT_scan"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        return scan_settings(context.scene).scan_object is not None


class FENDERWRIGHT_PT_scan_regions(_ScanPanel, bpy.types.Panel):
    """Parts of the scan that the builder points to; none are needed where the scan is clear"""

    bl_label = "Regions"
    bl_options = {"DEFAULT_CLOSED"}

    def draw(self, context: bpy.types.Context) -> None:
        layout = self.layout
        column = layout.column(align=True)
        for region in REGIONS:
            row = column.row(align=True)
            button: Any = row.operator(
                "fenderwright.mark_region", text=f"Mark as {REGION_LABELS[region]}", icon_value=swatch(REGION_COLORS[region])
            )
            button.region = region
        column.operator("fenderwright.unmark_region")


class FENDERWRIGHT_PT_scan_results(_ScanPanel, bpy.types.Panel):
    """What the scan told, each value with one standard deviation, and what to know before trusting it"""

    bl_label = "Measured by the Scan"

    @classmethod
    def poll(cls, context: bpy.types.Context) -> bool:
        ob = scan_settings(context.scene).scan_object
        return ob is not None and kept_report(ob) is not None

    def draw(self, context: bpy.types.Context) -> None:
        report = kept_report(scan_settings(context.scene).scan_object)
        if report is not None:
            draw_rows(self.layout, report.rows)
            _draw_legend(self.layout, report)
            for warning in report.warnings:
                draw_text(self.layout, warning, "INFO")


def _draw_legend(layout: bpy.types.UILayout, report: ScanReport) -> None:
    layout.label(text="Distance from the fitted tire")
    column = layout.column(align=True)
    for field in report.legend:
        column.label(text=field.text, icon_value=swatch(field.color))


CLASSES = (FENDERWRIGHT_PT_scan, FENDERWRIGHT_PT_scan_regions, FENDERWRIGHT_PT_scan_results)
