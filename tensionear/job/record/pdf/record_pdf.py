"""The record as a PDF: a page that a customer understands, and behind it what an expert needs.

References
----------
.. [1] ISO 216: A4 is 210 mm by 297 mm. ANSI/ASME Y14.1: A (Letter) is 8.5 in by 11 in. (From memory.)
"""

from enum import StrEnum
from io import BytesIO

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.platypus import PageBreak

from tensionear.job.record.pdf.pdf_content import PdfContent
from tensionear.job.record.pdf.pdf_customer_page import customer_page
from tensionear.job.record.pdf.pdf_expert_pages import expert_pages
from tensionear.job.record.pdf.pdf_pages import canvas_maker, new_document, room_points
from tensionear.job.record.pdf.pdf_type import TypeSetter


class PageSize(StrEnum):
    """Size of the pages [1]_; the value is the word for it."""

    A4 = "A4"
    LETTER = "Letter"


_PAGE_POINTS = {PageSize.A4: A4, PageSize.LETTER: LETTER}


def record_pdf(content: PdfContent, page_size: PageSize = PageSize.A4) -> bytes:
    """The record's PDF, the same bytes for the same content.

    Parameters
    ----------
    content : PdfContent
        What is to be said.
    page_size : PageSize
        Size of the pages.
    """
    file = BytesIO()
    setter = TypeSetter()
    page_points = _PAGE_POINTS[page_size]
    width_points, height_points = room_points(page_points, content)
    behind = expert_pages(setter, content, width_points)
    first = customer_page(setter, content, width_points, height_points)
    document = new_document(file, page_points, content)
    document.build([*first, PageBreak(), *behind], canvasmaker=canvas_maker(content, setter, page_points))
    return file.getvalue()
