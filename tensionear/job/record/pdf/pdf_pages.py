"""The frame of every page of a record's PDF: margins, the demonstration's mark, and the footer with page x of y."""

import hashlib
from datetime import UTC, datetime
from io import BytesIO
from typing import Any

from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from tensionear.job.record.pdf.pdf_content import PdfContent
from tensionear.job.record.pdf.pdf_type import (
    BOLD,
    DEMONSTRATION_SIZE,
    FOOTER_SIZE,
    HAIRLINE_POINTS,
    QUIET,
    REGULAR,
    RULE_POINTS,
    TypeSetter,
)

SIDE_POINTS, TOP_POINTS, BOTTOM_POINTS = 20 * mm, 15 * mm, 17 * mm
_DEMONSTRATION_POINTS = 7 * mm
_FOOTER_AT_POINTS = 10 * mm
SHORT_HASH_DIGITS = 12


def room_points(page_points: tuple[float, float], content: PdfContent) -> tuple[float, float]:
    """Width and height of what a page has room for. [points].

    Parameters
    ----------
    page_points : tuple of float
        Width and height of the page. [points]
    content : PdfContent
        Whether it is a demonstration: the mark takes room.
    """
    width, height = page_points
    marked = _DEMONSTRATION_POINTS if content.demonstration else 0.0
    return width - 2 * SIDE_POINTS, height - BOTTOM_POINTS - TOP_POINTS - marked


def new_document(file: BytesIO, page_points: tuple[float, float], content: PdfContent) -> BaseDocTemplate:
    """A document with the frame of its pages, and nothing in it yet.

    Parameters
    ----------
    file : BytesIO
        Where the PDF is written.
    page_points : tuple of float
        Width and height. [points]
    content : PdfContent
        For the document's properties and the room that a demonstration's mark takes.
    """
    document = BaseDocTemplate(
        file,
        pagesize=page_points,
        title=f"{content.title}, job {content.job_number}",
        # The technician's name is on the page for those who get it, not in the properties for whoever searches.
        author="",
        subject="",
        creator=f"tensionear {content.software_version}",
        lang="en",
        invariant=1,
        # The library's own first face is one that it does not embed.
        initialFontName=REGULAR,
    )
    frame = Frame(
        SIDE_POINTS,
        BOTTOM_POINTS,
        *room_points(page_points, content),
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    document.addPageTemplates(PageTemplate(frames=[frame]))
    return document


def canvas_maker(content: PdfContent, setter: TypeSetter, page_points: tuple[float, float]) -> type[Canvas]:
    """A canvas that writes the same frame on every page, once it is known how many there are.

    Parameters
    ----------
    content : PdfContent
        Job number, hash, demonstration, date.
    setter : TypeSetter
        Sets the texts.
    page_points : tuple of float
        Width and height. [points]
    """

    class FramedCanvas(Canvas):
        def __init__(self, *arguments: Any, **options: Any) -> None:
            super().__init__(*arguments, **options)
            self._pages: list[dict[str, Any]] = []
            _date(self, content.drawn_up_at)

        def showPage(self) -> None:  # noqa: N802 (reportlab's name)
            self._pages.append(dict(self.__dict__))
            self._startPage()  # type: ignore[attr-defined]

        def save(self) -> None:
            for number, page in enumerate(self._pages, start=1):
                self.__dict__.update(page)
                _draw_frame(self, page_points, content, setter, f"page {number} of {len(self._pages)}")
                super().showPage()
            super().save()

    return FramedCanvas


def _date(canvas: Canvas, at: datetime) -> None:
    """Give the PDF the date of its content, and an identifier of its content only, in place of the clock's."""
    inner: Any = canvas._doc  # type: ignore[attr-defined]
    utc = at.astimezone(UTC)
    inner._timeStamp.t = utc.timestamp()
    inner._timeStamp.lt = utc.timetuple()
    inner._timeStamp.YMDhms = tuple(utc.timetuple())[:6]
    inner.signature = hashlib.md5(utc.isoformat().encode(), usedforsecurity=False)


def _draw_frame(
    canvas: Canvas, page_points: tuple[float, float], content: PdfContent, setter: TypeSetter, page: str
) -> None:
    width, height = page_points
    left, right = SIDE_POINTS, width - SIDE_POINTS
    canvas.setStrokeColor(black)
    if content.demonstration:
        foot = height - TOP_POINTS - 4.0
        canvas.setLineWidth(RULE_POINTS)
        canvas.rect(left, foot, right - left, 15.0, stroke=1, fill=0)
        canvas.setFont(BOLD, DEMONSTRATION_SIZE)
        words = setter.in_a_line(content.demonstration, BOLD, DEMONSTRATION_SIZE, right - left - 12.0)
        canvas.drawCentredString(width / 2.0, foot + 4.5, words)
    canvas.setLineWidth(HAIRLINE_POINTS)
    canvas.line(left, _FOOTER_AT_POINTS + 10.0, right, _FOOTER_AT_POINTS + 10.0)
    canvas.setFont(REGULAR, FOOTER_SIZE)
    canvas.setFillColor(QUIET)
    record = f"record {content.record_sha256[:SHORT_HASH_DIGITS]}"
    beside = 2.0 * max(stringWidth(record, REGULAR, FOOTER_SIZE), stringWidth(page, REGULAR, FOOTER_SIZE))
    job = setter.in_a_line(f"Job {content.job_number}", REGULAR, FOOTER_SIZE, (right - left - beside) / 2.0)
    canvas.drawString(left, _FOOTER_AT_POINTS, job)
    canvas.drawCentredString(width / 2.0, _FOOTER_AT_POINTS, record)
    canvas.drawRightString(right, _FOOTER_AT_POINTS, page)
