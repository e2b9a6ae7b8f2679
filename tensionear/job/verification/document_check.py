"""Whether a bundle's PDF says what its record says: it is what people look at, and anybody can make a seal.

The PDF is made again from the record. Where it is another file, its words are compared, as another release of the
libraries that draw it may make other bytes of the same words. Against what is painted over words, words do not help:
only a signature does.
"""

import logging
from collections.abc import Mapping
from io import BytesIO

from pypdf import PdfReader
from reportlab.lib.pagesizes import LETTER

from tensionear import __version__
from tensionear.job.bundle.bundle_names import DOCUMENT, RECORD
from tensionear.job.record.pdf.record_content import pdf_content
from tensionear.job.record.pdf.record_pdf import PageSize, record_pdf
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.sha256 import sha256_of


def is_comparable(record: RecordDocument) -> bool:
    """Whether this program words a PDF as the one did that made the record."""
    return record.software_version == __version__


def document_fault(record: RecordDocument, files: Mapping[str, bytes]) -> str:
    """What the PDF of a bundle says otherwise than its record; empty if nothing.

    Parameters
    ----------
    record : RecordDocument
        The record, which `is_comparable`.
    files : mapping of str to bytes
        All of the bundle; its photos are there, as the record says.
    """
    content = pdf_content(record, sha256_of(files[RECORD]), lambda sha256: files[record.photo_files[sha256]])
    given = files[DOCUMENT]
    made = record_pdf(content, PageSize.A4)
    if made == given:
        return ""
    try:
        said, is_letter = _words(given), _is_letter(given)
    except Exception as error:  # a file that was made to do harm may let the library raise anything
        return f"{DOCUMENT} cannot be read as a PDF ({type(error).__name__})"
    if is_letter:
        made = record_pdf(content, PageSize.LETTER)
    return "" if made == given else _difference(said, _words(made))


def _difference(said: list[str], meant: list[str]) -> str:
    if said == meant:
        return ""
    pairs = enumerate(zip(said, meant, strict=False))
    at = next((i for i, (one, other) in pairs if one != other), min(len(said), len(meant)))
    here, there = (" ".join(words[max(0, at - 2) : at + 4]) for words in (said, meant))
    return (
        f"{DOCUMENT} does not say what the record says: {ascii(here)[:120]} in place of {ascii(there)[:120]}"
    )


def _words(pdf: bytes) -> list[str]:
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)  # what is odd about a file is told as a difference
    return [word for page in PdfReader(BytesIO(pdf)).pages for word in page.extract_text().split()]


def _is_letter(pdf: bytes) -> bool:
    page = PdfReader(BytesIO(pdf)).pages[0]
    return abs(float(page.mediabox.height) - LETTER[1]) < 1.0
