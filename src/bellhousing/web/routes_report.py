"""The owner's report of a job: as a page, as PDF, as JSON."""

from __future__ import annotations

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from bellhousing.errors import InputFileError
from bellhousing.reports.limit_line import limit_line_svg
from bellhousing.reports.owner_pdf import line_of
from bellhousing.tasks.owner_report import Gathered, owner_report
from bellhousing.tasks.report_pdf import report_pdf
from bellhousing.tasks.report_shapes import ReportReading
from bellhousing.web.pages import as_json, page, shop_of, units_of, wants_json
from bellhousing.web.sheet import number_of, rate_asked

UNITS = ("inch", "metric")


def report(request: Request) -> Response:
    """The report as a page or JSON; ?kind=estimate, ?units=metric and ?rate= as on the command line."""
    gathered = _gathered(request)
    if wants_json(request):
        return as_json(gathered.report)
    return page(
        request,
        "report.html",
        units=gathered.report.units,
        report=gathered.report,
        picture=None if gathered.drawn is None else Markup(gathered.drawn.svg),
        picture_title="" if gathered.drawn is None else gathered.drawn.title,
        line=_line,
        rate=rate_asked(request),
    )


def pdf(request: Request) -> Response:
    """The report as PDF."""
    gathered = _gathered(request)
    name = f"{gathered.report.kind}-{gathered.report.job}.pdf"
    return Response(
        report_pdf(shop_of(request), gathered),
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="{name}"'},
    )


def _gathered(request: Request) -> Gathered:
    number, query = number_of(request), request.query_params
    units = query.get("units") or None
    if units is not None and units not in UNITS:
        raise InputFileError(f"there are no units '{units[:20]}'", remedy="ask for inch or metric")
    return owner_report(
        shop_of(request),
        number,
        estimate=query.get("kind") == "estimate",
        units=units or units_of(request),
        rate=rate_asked(request) or None,
    )


def _line(row: ReportReading) -> Markup:
    """The limit line of a reading, empty where it has none."""
    line = line_of(row.model_dump())
    return Markup("") if line is None else Markup(limit_line_svg(line))


ROUTES = [
    Route("/job/{number:int}/report", report),
    Route("/job/{number:int}/report.json", report),
    Route("/job/{number:int}/report.pdf", pdf),
]
