"""Which tests one process runs, where several share a run: those that look at the same plan."""

from __future__ import annotations

from places import SAMPLES

SAMPLE_NAMES = sorted(path.name for path in SAMPLES.iterdir() if path.is_dir())
KINDS = sorted(path.stem for path in SAMPLES.glob("*/*.toml") if path.stem != "site")
LARGE = ("farm-pond", "school")
"""Samples that take as long to plan and to draw as all others together: what looks at them is
thorough."""
LOOK_AT = {
    "advisories/test_requirements.py::test_coordinates_need": "rural-acre",
    "advisories/test_requirements.py::test_of_more_decimals": "rural-acre",
    "advisories/test_requirements.py::test_a_location": "rural-acre",
    "cli/test_length.py::test_a_pond_draws": "mill-pond",
    "cli/test_length.py::test_the_drift": "good-aquifer",
    "cli/test_pipe_report.py::test_where_no_flow": "small-suburban",
    "cli/test_quick_fit.py::test_the_verdict_is": "good-aquifer",
    "export/test_stakes.py": "rural-acre",
    "sheet/place/test_settled_labels.py::test_names_of_trenches": "rural-acre",
    "sheet/plan_view/test_header_on_plan.py::test_sizes_are": "rural-acre",
    "sheet/test_metric_words.py::test_a_metric_plan_of_wells": "good-aquifer",
    "sheet/test_metric_words.py::test_metric_distances": "good-aquifer",
    "sheet/test_metric_words.py::test_a_sheet_of_the_united": "small-suburban",
    "specification/test_sequence.py::test_tape_wire": "small-suburban",
    "specification/test_sequence.py::test_pipe_is_told": "small-suburban",
    "specification/test_stockpile.py::test_ground_for_earth": "small-suburban",
    "specification/test_stockpile.py::test_cuttings": "good-aquifer",
    "specification/test_stockpile.py::test_the_plan_draws": "small-suburban",
    "web/test_edit_stages.py::test_wells_are_told": "good-aquifer",
    "web/test_edit_stages.py::test_bores_that_rows": "tight-lot",
    "web/test_offer.py::test_a_fluid": "small-suburban",
    "web/test_told.py::test_what_is_gravest": "rural-acre",
    "web/test_told.py": "tight-lot",
    "advisories/test_pond_year.py": "a year of a pond",
    "advisories/test_well_remarks.py": "lots over an aquifer",
    "alternatives/test_weighing.py": "tight-lot",
    "audit/test_staked_from_tapes.py::test_a_row_that_tells": "tight-lot",
    "audit/test_tampered.py::test_a_drawing_that_says": "rural-acre",
    "audit/test_tampered.py": "small-suburban",
    "cli/test_comma_locale.py": "small-suburban",
    "cli/test_commands.py": "small-suburban",
    "cli/test_pipe_report.py::test_wells": "good-aquifer",
    "cli/test_pipe_report.py": "rural-acre",
    "cli/test_sample.py::test_a_sample_is_copied": "rural-acre",
    "cli/test_tight_lot.py": "tight-lot",
    "demand/test_water.py": "properties of fluids",
    "design/test_loop_type_names.py": "the code",
    "export/test_page.py::test_the_corners": "tight-lot",
    "export/test_page": "rural-acre",
    "audit/test_audit_": "lots audited",
    "audit/test_header_pit": "lots audited",
    "export/test_dxf": "drawings of lots",
    "findings/test_catalogue.py": "the code",
    "hydraulics/test_fluids_table.py": "properties of fluids",
    "preferences/test_table.py": "the code",
    "quantities/test_take_off.py": "sloped",
    "sheet/plan_view/test_leaders_past.py": "good-aquifer",
    "sheet/tables/test_plan_names.py": "farm-pond",
    "sheet/tables/test_tables_of_pipes.py": "rural-acre",
    "sheet/place/test_leaders.py::test_the_coils": "farm-pond",
    "sheet/test_metric_words.py": "rural-acre",
    "sheet/test_one_figure_one_form.py": "good-aquifer",
    "sheet/pages/test_owner.py": "small-suburban",
    "sheet/test_pipes_on_the_sheet.py": "rural-acre",
    "test_package_checker.py": "small-suburban",
    "specification/test_sequence.py": "rural-acre",
    "specification/test_stockpile.py::test_where_there_is_no_room": "tight-lot",
    "specification/test_stockpile.py::test_the_longest": "rural-acre",
    "test_architecture.py": "the code",
    "test_portable.py": "the code",
    "sheet/test_legibility.py::test_a_plotted_sheet_has_no_faults[twenty-six": "crowded",
    "sheet/place/test_leaders.py::test_a_window_with_more": "crowded",
    "units/test_systems.py": "the code",
    "test_docs.py::test_the_python_of": "small-suburban",
}
"""Tests, by a part of their name, and the sample that they look at without its name in theirs, the
library that is slow to import, or the package's code read as trees."""

FIRST = (
    "small-suburban", "rural-acre", "farm-pond", "school", "tight-lot", "lots over an aquifer",
    "drawings of lots", "lots audited",
    "tests/layout/trenches/test_trench_rings.py", "tests/geometry/points/test_packing.py",
    "tests/layout/trenches/test_fit.py", "tests/design/test_one_balance.py",
    "tests/design/test_even_circuits.py", "tests/geometry/points/test_spreading.py",
    "tests/sheet/pages/test_set.py", "tests/layout/bores/test_bore_field.py",
    "tests/layout/trenches/test_field.py", "tests/layout/trenches/test_blocks.py",
    "tests/test_random_lots.py", "tests/design/test_fifth_loop_type.py",
    "tests/test_every_trench_kind.py",
)  # fmt: skip
"""Groups that take longest, by measurement: begun first, so that no process is left with one when
the others are done."""


def turn_of(test: str) -> int:
    """When the group of a test is begun: those that take longest before all others."""
    group = together(test)
    return FIRST.index(group) if group in FIRST else len(FIRST)


def together(test: str) -> str:
    """Name of the group of a test: the sample that it looks at, else its file.

    Examples
    --------
    >>> together("tests/test_x.py::test_a_plan[school-2]"), together("tests/test_x.py::test_y[1]")
    ('school', 'tests/test_x.py')
    """
    given = [name for name in (*SAMPLE_NAMES, *KINDS) if f"[{name}" in test]
    looked_at = [name for part, name in LOOK_AT.items() if part in test]
    return next(iter(given + looked_at), test.partition("::")[0])
