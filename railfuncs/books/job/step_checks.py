"""The steps of a stair compared with published limits: the triangle under the shoe, riser, tread, angle, handrail."""

from dataclasses import dataclass
from typing import Any

from railfuncs.books.cells import Cell, Page
from railfuncs.books.job.measured import refuse_text
from railfuncs.books.job.run import Published, RunCells, published
from railfuncs.books.measure import Run
from railfuncs.rules import flight
from railfuncs.rules import job as together

STEPS_LABEL = "Steps, on a slope"


@dataclass(frozen=True)
class Compared:
    """One comparison: what it is called, where its limit stands, and the rule that measures it."""

    label: str
    check: str
    place: str
    rule: Any
    args: tuple[str, ...]
    kinds: tuple[str, ...] = ("rake", "treads")


_BOTH: tuple[Compared, ...] = (
    Compared("Sphere in the triangle under the shoe", "triangle", "slope", flight.sphere,
             ("step_riser", "step_tread", "floor_gap"), ("rake",)),
    Compared("Height, as a handrail", "handrail", "slope", together.same, ("rail_height",)),
    Compared("Riser", "step", "riser", together.same, ("step_riser",)),
    Compared("Tread", "step", "tread", together.same, ("step_tread",)),
    Compared("Angle in degrees", "step", "pitch", together.same, ("pitch",)),
    Compared("Two risers and a tread", "step", "sum", flight.two_risers_and_a_tread, ("step_riser", "step_tread")),
    Compared("Largest less smallest riser", "uniform", "riser", flight.spread, ("measured riser",)),
    Compared("Largest less smallest tread", "uniform", "tread", flight.spread, ("measured tread",)),
)  # fmt: skip


def step_limits(run: RunCells | Run, code: str) -> dict[Compared, Published]:
    """The published limits that a sloped run is compared with."""
    found = {each: published(each.check, each.place, run.unit, code) for each in _BOTH if run.kind in each.kinds}
    return {each: limit for each, limit in found.items() if limit is not None}


def add_steps(page: Page, row: int, runs: list[RunCells], code: str) -> int:
    """Rows of the sheet Checks for runs that slope, from `row`; returns the last row."""
    page.put(row, 1, STEPS_LABEL, "group")
    page.put(row, 2, "Boxed limits are the published ones: change them to the local ones.", "lead plain")
    limits = {run.number: step_limits(run, code) for run in runs}
    for each in _BOTH:
        if any(each in found for found in limits.values()):
            row = _compared(page, row, each, runs, limits)
    return row


def _compared(
    page: Page, row: int, each: Compared, runs: list[RunCells], limits: dict[int, dict[Compared, Published]]
) -> int:
    """The rows of one comparison: the measure, its published bounds, and what it is beside them."""
    found = [limits[run.number].get(each) for run in runs]
    sphere = any(limit and limit.under for limit in found)
    bounds = [name for name in ("under", "least", "most") if any(limit and getattr(limit, name) for limit in found)]
    titles = {"under": "published limit", "least": "published least", "most": "published most"}
    page.put(row + 1, 1, each.label, "wrap")
    for offset, name in enumerate(bounds, start=2):
        page.put(row + offset, 1, f"{each.label}: {titles[name]}", "wrap")
    last = row + 2 + len(bounds)
    page.put(last, 1, f"{each.label} is", "wrap")
    page.sheet.row_dimensions[last].height = 32
    for run in runs:
        if run.kind not in each.kinds:
            continue
        column, status = run.number + 2, run["status"]
        args = [run.blocks[key.split()[1]] if key.startswith("measured ") else run[key] for key in each.args]
        measure = page.calc(row + 1, column, each.rule, *args, style="exact", unless=status)
        typed = {name: _typed(page, row + offset, run, limits[run.number].get(each), name, each)
                 for offset, name in enumerate(bounds, start=2)}  # fmt: skip
        if sphere:
            is_ = page.calc(last, column, flight.compared_triangle, measure, run["step_riser"], typed["under"],
                            style="wrap", unless=status)  # fmt: skip
            run.cells["under_is"] = is_
        else:
            page.calc(last, column, flight.compared_between, measure, typed.get("least", ""), typed.get("most", ""),
                      style="wrap", unless=status)  # fmt: skip
    return last


def _typed(page: Page, row: int, run: RunCells, limit: Published | None, name: str, each: Compared) -> Cell:
    """A published bound that may be changed to the local one."""
    cell = page.put(row, run.number + 2, None if limit is None else getattr(limit, name), "input in")
    if each.place != "pitch":
        refuse_text(page, [cell], run.unit)
    return cell
