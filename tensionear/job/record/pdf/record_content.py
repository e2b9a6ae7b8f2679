"""What a record's PDF says, from the record alone: the same record always gives the same document."""

from collections.abc import Callable, Iterator

from tensionear.belt.comparison import ComparedQuantity
from tensionear.cautions import DOES_NOT_REPLACE, MANUFACTURER_WINS, NO_SPECIFICATION_OF_ITS_OWN
from tensionear.figures import with_uncertainty
from tensionear.job.course import steps_left
from tensionear.job.log import JobClosed
from tensionear.job.record.found_document import FoundPass
from tensionear.job.record.pdf.pdf_content import Fact, PdfContent, VerdictStatement
from tensionear.job.record.pdf.record_expert import expert_content
from tensionear.job.record.pdf.record_log_sections import DETAILS, detail_words
from tensionear.job.record.pdf.record_passes import limits_words, pass_ladder, pass_rows
from tensionear.job.record.pdf.record_told import ToldRecord
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.specification_document import SingleValueDocument
from tensionear.known_span import SpanModel
from tensionear.words import INTERVAL_NOTE, NOT_CORRECTED_NOTE, capital

DEMONSTRATION = "Demonstration: everything here is invented. No value may be used on anything real."
NO_VERDICT = "No verdict"
_ONE_PLUCK = "It rests on one pluck: nothing is known of how plucks differ, and ± says nothing of it."
_MODELS = {
    SpanModel.STIFF: "corrected for the belt's stiffness",
    SpanModel.NOT_KNOWN: "the belt's stiffness is not known, and ± reaches over all that it may be",
    SpanModel.FLEXIBLE: "taken as flexible, as was asked for: of a stiff belt that is too high",
}


def pdf_content(record: RecordDocument, record_sha256: str, content_of: Callable[[str], bytes]) -> PdfContent:
    """What stands in the record's PDF.

    Parameters
    ----------
    record : RecordDocument
        The record.
    record_sha256 : str
        Of ``record.json``.
    content_of : callable
        Gives the bytes of a SHA-256; for the photos.

    Raises
    ------
    ValueError
        If the log cannot be what happened.
    InputError, ArchiveError
        What `content_of` raises.
    """
    told = ToldRecord(record)
    details = record.found.details
    return PdfContent(
        job_number=record.job_number,
        record_sha256=record_sha256,
        drawn_up_at=record.made_at,
        software_version=record.software_version,
        workshop=details.workshop,
        facts=tuple(_facts(told)),
        verdict=_verdict(told),
        ladder=pass_ladder(told),
        passes=pass_rows(told),
        unit=told.unit,
        run_in_sentence=""
        if record.found.run_in is None
        else f"{record.found.run_in.sentence.removeprefix('run-in ')}.",
        standing_sentences=(
            f"{INTERVAL_NOTE} Times are {told.zone}. {MANUFACTURER_WINS} {DOES_NOT_REPLACE}"
            f" {NO_SPECIFICATION_OF_ITS_OWN}"
        ),
        signatories=(f"Technician: {details.technician}" if details.technician else "Technician",),
        demonstration=DEMONSTRATION if record.is_demonstration else "",
        expert=expert_content(told, content_of),
    )


def _facts(told: ToldRecord) -> Iterator[Fact]:
    record, setup, state = told.record, told.setup, told.state
    details = record.found.details
    known = [(name, detail_words(field, getattr(details, field))) for field, name in DETAILS.items()]
    of_vehicle, of_work = known[:4], [each for each in known[4:] if each[0] != DETAILS["workshop"]]
    closed = [entry.at for entry in record.log if isinstance(entry.fact, JobClosed)]
    until = f"closed {told.when(closed[-1])}" if closed else "not closed"
    if closed and state.closed_at is None:
        until += ", continued since"
    named = [
        ("job", record.job_number),
        *of_vehicle,
        ("engine", setup.engine),
        ("belt", setup.belt),
        ("span", setup.span_name),
        ("opened", f"{told.when(state.opened_at)}, {until}"),
        ("record made", told.when(record.made_at)),
        *of_work,
        ("setup", f"{record.setups[-1].name}, version {record.setups[-1].version}"),
    ]
    return (Fact(capital(name), value) for name, value in named if value)


def _verdict(told: ToldRecord) -> VerdictStatement:
    each = told.deciding
    said, remarks = told.record.found.conclusion, tuple(_remarks(told))
    if each is None or each.compared is None or each.compared.result is None:
        return VerdictStatement(NO_VERDICT, said, remarks=remarks)
    compared, result = each.compared, each.compared.result
    word = NO_VERDICT
    if compared.verdict is not None and each.ended_at is not None:
        word = capital(str(compared.verdict))
    name = f"{compared.quantity} at the {told.pass_name(each)}"
    return VerdictStatement(
        word=word,
        sentence=said,
        remarks=remarks,
        band_name=capital(told.band_name),
        figure_name=capital(name),
        figure=with_uncertainty(result.value, result.expanded_uncertainty, str(compared.unit)),
        band=""
        if isinstance(compared.limits, SingleValueDocument)
        else limits_words(compared, with_unit=True),
    )


def _remarks(told: ToldRecord) -> Iterator[str]:
    """All without which the outcome would be taken for more than it is."""
    each = told.deciding
    if each is not None and each.compared is not None:
        yield each.compared.sentence
        yield from _warnings(told, each)
    left = steps_left(told.state, told.setup)
    if left:
        yield f"Not done when this record was made: {', '.join(left)}."
    if told.state.skipped:
        yield f"Skipped, for reasons on the pages behind: {', '.join(told.state.skipped)}."


def _warnings(told: ToldRecord, each: FoundPass) -> Iterator[str]:
    if each.n_in_mean == 1:
        yield _ONE_PLUCK
    compared = each.compared
    if each.tension is not None and each.span_model is not None:
        figure = with_uncertainty(each.tension.value, each.tension.expanded_uncertainty, "N")
        yield f"Static tension: {figure}, {_MODELS[each.span_model]}."
    if each.no_tension:
        yield f"Static tension: none, {each.no_tension}."
    if (
        compared is not None
        and compared.quantity is ComparedQuantity.CORRECTED_TENSION
        and each.span_model is SpanModel.FLEXIBLE
    ):
        yield NOT_CORRECTED_NOTE
    if told.setup.span is not None:
        yield from (f"Mind: {warning}." for warning in told.setup.span.warnings)
