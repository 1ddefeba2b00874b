"""The measuring sheet: a blank form to print, and its twins to fill in on a screen."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

from rigmodel.catalog.store import builtin_catalogue
from rigmodel.files import check_targets, write_all
from rigmodel.lines import wrapped
from rigmodel.sheet.fields import SECTIONS, all_names, spec_field
from rigmodel.sheet.typeset import pdf

FORM, YAML_TWIN, CSV_TWIN = "measuring-sheet.pdf", "measures.yaml", "measures.csv"
_PAPER = {"in": "us-letter", "mm": "a4"}
_EXAMPLE = {"in": "2 1/2, 2 1/2 in or 380 mm", "mm": "380, 380 mm or 2 1/2 in"}


def form_pdf(units: str) -> bytes:
    """The blank form as a PDF.

    Args:
        units: unit of bare numbers, ``in`` (US letter paper) or ``mm`` (A4).

    Raises:
        SheetError: PDFs cannot be made here.
    """
    return pdf("form.typ", form_data(units), {})


def form_data(units: str) -> dict[str, Any]:
    """What the form's template shows: sections with numbered fields."""
    numbers = {name: i + 1 for i, name in enumerate(all_names())}
    return {
        "paper": _PAPER[units],
        "units": units,
        "example": _EXAMPLE[units],
        "twins": [YAML_TWIN, CSV_TWIN],
        "numbers": numbers,
        "tractors": [
            {"name": name, "what": tractor.summary}
            for name, tractor in builtin_catalogue().tractors.items()
        ],
        "sections": [
            {
                "title": section.title,
                "how": section.how,
                "sketch": section.sketch,
                "fields": [
                    {
                        "number": numbers[name],
                        "name": name,
                        "what": what_is(name),
                        "filled": units if name == "units" else "",
                    }
                    for name in section.names
                ],
            }
            for section in SECTIONS
        ],
    }


def what_is(name: str) -> str:
    """The spec's own words for a field, with the words it takes."""
    field = spec_field(name)
    assert field is not None  # tests hold every name of the form against the spec
    what = field.what.replace("`", "'")
    missing = [choice for choice in field.choices if choice not in what]
    return f"{what}: {', '.join(field.choices)}" if missing else what


def yaml_twin(units: str) -> str:
    """The form as YAML: one ``name: value`` a line, to be filled in."""
    lines = [
        "# Measures for `rigmodel new --from`. Write each value after its colon, such as",
        f"# {_EXAMPLE[units]}; a bare number is in the unit of 'units'. Leave empty what you did",
        "# not measure. The numbers are those on the printed form.",
    ]
    wide = max(len(name) for name in all_names()) + 2
    number = 0
    for section in SECTIONS:
        lines += ["", f"# {section.title}"]
        lines += (f"#   {line}" for line in wrapped(section.how, 92))
        for name in section.names:
            number += 1
            value = f" {units}" if name == "units" else ""
            lines.append(f"{name + ':' + value:<{wide + 4}}  # {number:>2} {what_is(name)}")
    return "\n".join(lines) + "\n"


def csv_twin(units: str) -> str:
    """The form as CSV with the columns field, value, number and what."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(("field", "value", "number", "what"))
    for i, name in enumerate(all_names()):
        writer.writerow((name, units if name == "units" else "", i + 1, what_is(name)))
    return out.getvalue()


def write_form(folder: Path, units: str, replace: bool) -> tuple[Path, ...]:
    """Writes the form and its two twins.

    Args:
        folder: where to; it must be there.
        units: unit of bare numbers, ``in`` or ``mm``.
        replace: whether files that are there may be written over.

    Returns:
        The files written.

    Raises:
        SheetError: PDFs cannot be made here.
        FileError: a file is there already or cannot be written.
    """
    targets = tuple(folder / name for name in (FORM, YAML_TWIN, CSV_TWIN))
    check_targets(targets, replace)
    contents = (form_pdf(units), yaml_twin(units).encode(), csv_twin(units).encode("utf-8-sig"))
    write_all(dict(zip(targets, contents, strict=True)), replace)
    return targets
