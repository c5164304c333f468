"""The fields that a document template may use, and the blocks that tables and pictures are put in place of."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from screening.decision.contents import STALE
from screening.decision.statistics import NOT_ALLOWED
from screening.decision.words import STATUS_WORDS
from screening.outputs import evidence, lists
from screening.outputs.document import dense
from screening.outputs.document.parts import appendices, components, methods
from screening.outputs.drawings import KINDS, Picture, sheets_of_kind
from screening.outputs.summary import first_of, summary_lines
from screening.outputs.tables import KEY
from screening.outputs.texts import readable

if TYPE_CHECKING:
    from screening.decision.contents import Contents
    from screening.outputs.lists import Listing
    from screening.outputs.tables import Crosstab

OPENS, CLOSES = "\ue0f0", "\ue0f1"
"""Private characters about the name of a block; `readable` lets none of a delivered text through."""

Block = Callable[["Contents"], "Listing | Sequence[Crosstab] | Sequence[Picture]"]
"""What a block shows: a list, result tables, or pictures."""


def allowed_statistics(contents: Contents) -> Sequence[Picture]:
    """The statistics that the rule of their table allows, without those shown for information."""
    return [one for one in sheets_of_kind(contents, "statistics") if NOT_ALLOWED not in one.description]


BLOCKS: Mapping[str, Block] = {
    "components_table": components,
    "exceedances_table": lists.exceedances,
    "exceedances_by_analyte_table": lists.exceedances_by_analyte,
    "open_table": dense.open_items,
    "no_level_table": lists.no_level_by_analyte,
    "duplicates_table": dense.duplicates,
    "result_tables": dense.results,
    "levels_table": evidence.levels_used,
    "quality_table": dense.quality,
    "coverage_table": dense.coverage,
    "deadlines_table": dense.deadlines,
    "papers_table": evidence.papers,
    "files_table": evidence.files_read,
    **{f"{kind}_pictures": partial(sheets_of_kind, kind=kind) for kind in KINDS},
    "allowed_statistics_pictures": allowed_statistics,
}


def fields(contents: Contents) -> dict[str, Any]:
    """Every field by its name: texts, lists of texts, and the places of the blocks."""
    answer, site = contents.answer, contents.site
    advice = answer["recommendation"]
    texts = {
        "site_id": answer["site"], "site_name": answer["site_name"], "address": site.site.address, "facility_number": site.site.facility_number,
        "place": site.site.place, "run": answer["run"], "data_state": answer["data"], "today": contents.today.isoformat(),
        "stale": STALE if contents.stale else "", "status": advice["status"], "status_words": STATUS_WORDS[advice["status"]],
        "caution": advice["caution"], "site_caution": contents.deadlines["caution"], "quality_paragraph": contents.review["summary"],
        "coverage_words": evidence.coverage(contents).title, "papers_words": evidence.papers(contents).title,
    }  # fmt: skip
    many = {
        "summary": summary_lines(answer), "reasons": first_of([reason["text"] for reason in advice["reasons"]]), "actions": first_of(advice.get("actions", ())),
        "warnings": answer["warnings"], "assumptions": answer["assumptions"], "methods": methods(contents), "appendices": appendices(contents),
        "key": [f"{mark} {words}" if mark else words for mark, words in KEY],
        "coverage_notes": evidence.coverage(contents).notes, "deadline_notes": contents.deadlines["notes"],
        "levels": [f"{one['table']}, version {one['version']}: {one['title']}; {one['citation']}; {one['transcription']}" for one in answer["levels"]],
        "signs": [sign.replace("_", " ") for sign in site.field.signs],
    }  # fmt: skip
    return {
        **{name: readable(text) for name, text in texts.items()},
        **{name: [readable(text) for text in each] for name, each in many.items()},
        "counts": dict(answer["counts"]), "held_back": len(answer["held_back"]),
        **{name: f"{OPENS}{name}{CLOSES}" for name in BLOCKS},
    }  # fmt: skip
