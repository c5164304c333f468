"""Events that clocks are counted from, under one name each, and moments in the site's time zone."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from difflib import get_close_matches
from zoneinfo import ZoneInfo

from screening.site.parts import Moment
from screening.site.site_file import SiteFile

EVENTS: Mapping[str, tuple[str, ...]] = {
    "notice_given": ("notice", "notice_of_intent", "notice_sent"),
    "second_notice_given": ("second_notice",),
    "notice_ended": ("notice_expired",),
    "work_begun": ("work_began", "work_begins", "work_start", "closure_begun"),
    "removed": ("removal", "tank_removed", "tanks_removed", "removal_finished"),
    "excavated": ("excavation",),
    "sampled": ("samples_taken", "sampling"),
    "results_received": ("results", "laboratory_report", "lab_report"),
    "discovery": ("discovered", "contamination_seen", "contamination_found", "release_discovered", "release_found"),
    "suspected": ("release_suspected", "suspicion"),
    "confirmed": ("release_confirmed", "confirmation"),
    "reported": ("release_reported", "report_made"),
    "abatement_reported": (), "characterization_reported": (), "free_product_reported": (),
    "closed": ("closure", "closure_complete", "completed", "completion"),
    "work_complete": ("work_completed",),
    "report_filed": ("closure_report", "closure_report_filed"), "report_approved": (),
    "filled": ("tank_filled",), "amended_notification_given": (), "stockpile_removed": (),
    "temporary_closure": ("temporarily_closed", "out_of_service"), "temporary_closure_end": (),
    "spill": (), "new_tank_in_use": (), "change_in_service": (), "hazardous_release": (), "off_site_need": (),
    "aboveground_temporary_closure": (), "permit_issued": ("permit",),
}  # fmt: skip
"""Event -> other names under which a site file may state it (common practice, no source)."""
OF_PAPERS = {
    "closure_notice": "notice_given", "second_notice": "second_notice_given", "release_report": "reported",
    "characterization": "characterization_reported",
}  # fmt: skip
"""Papers whose date is that of an event, where the event is not stated itself."""
_OWN = {name: event for event, others in EVENTS.items() for name in (event, *others)}


def stated(site: SiteFile) -> dict[str, Moment]:
    """The site's events under their one name and as given, and those that the date of a paper tells."""
    found: dict[str, Moment] = {}
    for name, moment in site.events.items():
        found[name] = moment
        found.setdefault(_OWN.get(name, name), moment)
    for paper in site.paper:
        if paper.date is not None and paper.kind in OF_PAPERS:
            found.setdefault(OF_PAPERS[paper.kind], paper.date)
    return found


def unknown_events(site: SiteFile) -> list[str]:
    """Sentences on events that no clock of any place knows, nor one of the site's own."""
    own = {clock.counted_from for clock in site.clock} | {clock.met_by for clock in site.clock}
    told = []
    for name in site.events:
        if name not in _OWN and name not in own:
            near = get_close_matches(name, list(_OWN), n=1)
            hint = f"; did you mean '{near[0]}'?" if near else ""
            told.append(f"no clock is counted from the event '{name}'{hint}")
    return told


def first_known(site: SiteFile, names: Sequence[str]) -> tuple[str, Moment] | None:
    """The first of several events that the site file states."""
    found = stated(site)
    return next(((name, found[name]) for name in names if name in found), None)


def local(moment: Moment, zone: ZoneInfo | None) -> Moment:
    """A moment as clocks at the site show it: moved to the site's zone, or placed in it where it states no offset."""
    if not isinstance(moment, dt.datetime) or zone is None:
        return moment
    return moment.replace(tzinfo=zone) if moment.tzinfo is None else moment.astimezone(zone)


def day_of(moment: Moment) -> dt.date:
    """The day of a moment."""
    return moment.date() if isinstance(moment, dt.datetime) else moment


def written(moment: Moment) -> str:
    """A moment as text: 2025-05-29, or 2025-05-29T15:00:00-04:00."""
    return moment.isoformat()
