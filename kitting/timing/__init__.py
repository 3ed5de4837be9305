"""Room timing: which day.

Makes the calendars of the shop and its suppliers, places stages on working days, says when orders
on the way and offers can be used and by which day a buy must be ordered, and tells how each stage
stands. Learns how long suppliers take, and says how sure each stage is, what decides it and what to
do today. Pure: the day, and the clock, are arguments.
"""

from __future__ import annotations

from kitting.timing.ahead import Ahead, look_ahead
from kitting.timing.arrivals import coming, offer_days
from kitting.timing.away import held_by_jobs, jobs_away
from kitting.timing.calendars import calendars, known_calendar
from kitting.timing.findings import findings
from kitting.timing.late_starts import late_starts
from kitting.timing.lead_spread import lead_spread
from kitting.timing.lead_table import lead_table
from kitting.timing.lead_times import LeadTimes, lead_times, likely_days
from kitting.timing.order_by import order_by, order_by_need
from kitting.timing.outlook import Planned
from kitting.timing.past_orders import past_orders
from kitting.timing.readiness import readiness
from kitting.timing.stage_days import stage_days
from kitting.timing.workdays import add_days, count, roll, works

__all__ = [
    "Ahead",
    "LeadTimes",
    "Planned",
    "add_days",
    "calendars",
    "coming",
    "count",
    "findings",
    "held_by_jobs",
    "jobs_away",
    "known_calendar",
    "late_starts",
    "lead_spread",
    "lead_table",
    "lead_times",
    "likely_days",
    "look_ahead",
    "offer_days",
    "order_by",
    "order_by_need",
    "past_orders",
    "readiness",
    "roll",
    "stage_days",
    "works",
]
