"""A record's PDF says what the record says: every figure, every doubt, and no verdict that was not found."""

import dataclasses
import re
from collections.abc import Iterator, Sequence
from typing import Any

import pytest

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.comparison import Baseline, SingleValue
from tensionear.belt.estimate import Estimate
from tensionear.belt.specification import Specification
from tensionear.belt.stated_value import BeltState, Method, ReferenceSpan, Stated
from tensionear.cautions import CAUTIONS, MANUFACTURER_WINS
from tensionear.job.course import cautions_for
from tensionear.job.log import (
    CautionsAcknowledged,
    DetailCorrected,
    Fact,
    LineTicked,
    PhotoAdded,
    PluckReinstated,
    PluckStruckOut,
    StepSkipped,
)
from tensionear.job.passes import PassKind, Step
from tensionear.job.pluck_document import PluckDocument
from tensionear.job.record.pdf.pdf_content import PdfContent
from tensionear.job.record.record_document import RecordDocument
from tensionear.job.setup import RuleDocument
from tensionear.job.sha256 import sha256_of
from tensionear.job.span_document import SpanDocument
from tensionear.job.specification_document import BaselineDocument, SpecificationDocument
from tensionear.known_span import KnownSpan
from tensionear.metrology.decision import Rule, Verdict
from tests.job.invented import (
    FINAL_HZ,
    SPAN,
    a_pass,
    invented_pluck,
    invented_setup,
    refused_pluck,
    setup_taken,
    whole_job,
)
from tests.job.invented_record import PHOTO, content_of, invented_record

BAND_HZ = ToleranceBand(110.0, 122.0, BandUnit.HERTZ)
BASELINE = BaselineDocument.of(Baseline(Estimate(118.0, 0.1), 5.0, "invented job 17"))


def specified(
    value: ToleranceBand | SingleValue, method: Method = Method.VIBRATION_TENSION
) -> SpecificationDocument:
    """A specification of one value for any belt."""
    reference = ReferenceSpan() if method is Method.VIBRATION_TENSION else None
    return SpecificationDocument.of(
        Specification(method, (Stated(BeltState.ANY, value),), "Invented sheet 2", reference)
    )


def final_pass(plucks: Sequence[PluckDocument]) -> list[Fact]:
    """A job that is nothing but a final setting."""
    return a_pass(PassKind.FINAL_SETTING, plucks)


def read(fundamentals_hz: Sequence[float] = FINAL_HZ) -> list[PluckDocument]:
    """Plucks that were read."""
    return [invented_pluck(each) for each in fundamentals_hz]


def texts(value: Any) -> Iterator[str]:
    """Every text of a content."""
    if isinstance(value, str):
        yield value
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from texts(getattr(value, field.name))
    elif isinstance(value, tuple):
        for each in value:
            yield from texts(each)


def about(content: PdfContent) -> str:
    """What stands beside the verdict."""
    return "\n".join([content.verdict.sentence, *content.verdict.remarks])


def whole_text(content: PdfContent) -> str:
    """All that the PDF says."""
    return "\n".join(texts(content))


@pytest.fixture(scope="module")
def whole_record() -> RecordDocument:
    return invented_record(whole_job())


@pytest.fixture(scope="module")
def whole(whole_record: RecordDocument) -> PdfContent:
    return content_of(whole_record)


def test_the_verdict_is_that_of_the_deciding_pass_with_its_figure_and_band(whole: PdfContent) -> None:
    # By hand: 4·0.165·0.213²·117² = 409.90 N.
    verdict = whole.verdict
    assert verdict.word == "In band"
    assert verdict.figure_name == "Tension of a flexible span at the re-check"
    assert verdict.figure.startswith("409.9 ± ")
    assert verdict.band == "380 to 460 N"
    assert f"is {verdict.figure}, which is in band" in about(whole)
    assert "Invented specification 'Example Sheet 1'" in about(whole)
    assert "neither is the force in the belt" in about(whole)
    assert "taken as flexible, as was asked for" in about(whole)


def test_every_pass_stands_in_the_table_and_in_the_picture(
    whole: PdfContent, whole_record: RecordDocument
) -> None:
    names = ["over-tension", "run-in", "final setting", "re-check"]
    assert [row.name for row in whole.passes] == names
    assert [column.name for column in whole.ladder.passes] == names
    assert [row.plucks for row in whole.passes] == ["5", "5, no mean", "5 of 6", "5"]
    assert [row.band for row in whole.passes] == ["600 to 760", "", "380 to 460", "380 to 460"]
    assert [row.verdict for row in whole.passes] == ["in band", "", "in band", "in band"]
    for row, column, found in zip(whole.passes, whole.ladder.passes, whole_record.found.passes, strict=True):
        if found.compared is None or found.compared.result is None:
            assert (row.mean, column.mean, column.verdict) == ("", None, None)
            continue
        result = found.compared.result
        assert column.mean is not None
        assert (column.mean.value, column.mean.expanded_uncertainty) == (
            result.value,
            result.expanded_uncertainty,
        )
        assert float(row.mean) == pytest.approx(result.value, rel=1e-3)
        assert float(row.expanded_uncertainty) == pytest.approx(result.expanded_uncertainty, rel=0.05)


def test_the_run_ins_plucks_stand_in_the_picture_at_their_revolutions(whole: PdfContent) -> None:
    plucks = whole.ladder.passes[1].plucks
    assert [pluck.revolution for pluck in plucks] == [2, 4, 6, 8, 10]
    # By hand: 0.02994354·f² of 141, 133, 128.5, 126 and 125 Hz.
    assert [pluck.value for pluck in plucks] == pytest.approx([595.3, 529.7, 494.4, 475.4, 467.9], abs=0.1)


def test_every_pluck_stands_among_the_readings(whole: PdfContent, whole_record: RecordDocument) -> None:
    rows = [row for each in whole.expert.readings for row in each.rows]
    assert [row.number for row in rows] == [str(number) for number in range(1, 22)]
    assert rows[0].fundamental == "150.200"
    assert rows[0].fundamental_standard_uncertainty == "0.020"
    assert [row.result for row in rows] == ["in mean"] * 5 + ["read"] * 5 + ["refused"] + ["in mean"] * 10
    assert rows[10].fundamental == rows[10].tension == ""


def test_a_refused_pluck_is_told_with_its_reason(whole: PdfContent) -> None:
    (row,) = whole.expert.left_out
    assert row.what == "final setting, pluck 11: refused"
    assert row.reason == "too weak: an invented refusal: pluck once more"
    assert whole.ladder.passes[2].n_refused == 1


def test_a_pluck_that_was_struck_out_and_one_that_was_reinstated_are_told_with_reason_and_name() -> None:
    facts = [
        *final_pass(read()),
        PluckStruckOut(pluck_number=1, reason="invented: touched"),
        PluckStruckOut(pluck_number=2, reason="invented: noise"),
        PluckReinstated(pluck_number=2, reason="invented: it was no noise"),
    ]
    content = content_of(invented_record(facts))
    told = [(row.what, row.reason, row.by) for row in content.expert.left_out]
    assert told == [
        ("final setting, pluck 1: struck out", "invented: touched", "Zofia Żółć"),
        ("final setting, pluck 2: struck out", "invented: noise", "Zofia Żółć"),
        ("final setting, pluck 2: reinstated, counts again", "invented: it was no noise", "Zofia Żółć"),
    ]
    assert [row.result for row in content.expert.readings[0].rows] == ["struck out"] + ["in mean"] * 4
    assert [pluck.is_in_mean for pluck in content.ladder.passes[0].plucks] == [False] + [True] * 4


def test_a_marked_pluck_is_told_and_is_in_no_mean() -> None:
    content = content_of(invented_record(final_pass(read([*FINAL_HZ, 236.4]))))
    (row,) = content.expert.left_out
    assert row.what == "final setting, pluck 6: marked"
    assert "partial 2" in row.reason
    assert content.passes[0].plucks == "5 of 6"


def test_plucks_that_do_not_agree_give_no_verdict_and_no_figure() -> None:
    content = content_of(invented_record(final_pass(read([110.0, 118.0, 126.0, 134.0]))))
    assert content.verdict.word == "No verdict"
    assert (content.verdict.figure, content.verdict.band) == ("", "")
    assert "do not agree" in about(content)
    assert content.passes[0].verdict == "no mean: the plucks do not agree"
    assert any(row.what == "final setting: no mean" for row in content.expert.left_out)


def test_a_final_setting_that_still_goes_on_gives_no_verdict() -> None:
    content = content_of(invented_record(final_pass(read())[:-1]))
    assert content.verdict.word == "No verdict"
    assert content.verdict.sentence == "No verdict yet: the final setting still goes on."


def test_a_tension_taken_as_flexible_is_said_to_be_too_high_whatever_the_setup_warns_of() -> None:
    content = content_of(invented_record(final_pass(read())))
    assert "taken as flexible, as was asked for: of a stiff belt that is too high" in about(content)


def test_one_pluck_is_called_one_pluck() -> None:
    assert "It rests on one pluck" in about(content_of(invented_record(final_pass(read([118.0])))))
    assert "one pluck" not in about(content_of(invented_record(final_pass(read()))))


def test_nothing_but_refusals_give_no_verdict() -> None:
    content = content_of(invented_record(final_pass([refused_pluck()])))
    assert content.verdict.word == "No verdict"
    assert content.passes[0].verdict == "no pluck could be read"


def test_a_job_without_a_final_setting_has_no_verdict() -> None:
    content = content_of(invented_record(a_pass(PassKind.OVER_TENSION, read([150.0, 150.1]))))
    assert content.verdict.word == "No verdict"
    assert "not read after its final setting" in about(content)


def test_a_single_value_gives_no_verdict() -> None:
    setup = invented_setup(specification=specified(SingleValue(417.0, BandUnit.NEWTON)))
    content = content_of(invented_record(final_pass(read()), setup))
    assert content.verdict.word == "No verdict"
    assert content.verdict.band == ""
    assert content.verdict.figure.startswith("416.9 ± ")
    assert content.passes[0].band == "417, no tolerance"
    assert content.passes[0].verdict == "no verdict: stated without tolerance"
    assert "no verdict" in content.ladder.passes[0].words


def test_a_baseline_is_never_called_a_specification() -> None:
    setup = invented_setup(specification=None, baseline=BASELINE, stiffness_how="")
    content = content_of(invented_record(final_pass(read()), setup))
    assert content.verdict.word == "In band"
    assert content.verdict.band_name == "Band about an earlier job"
    assert content.ladder.band_name == "band about an earlier job"
    assert content.unit == "Hz"
    assert "There is no specification." in about(content)
    assert content.expert.specification[0].value.startswith("None is stated.")
    for sentence in re.split(r"[.\n]", whole_text(content)):
        assert (
            "specif" not in sentence.lower() or "no specification" in sentence or sentence == "Specification"
        )


def test_the_demonstration_is_marked_and_a_real_job_is_not() -> None:
    facts = final_pass(read())
    assert content_of(invented_record(facts)).demonstration.startswith("Demonstration")
    assert content_of(invented_record(facts, is_demonstration=False)).demonstration == ""


def test_a_stiffness_that_is_not_known_is_said_beside_the_verdict() -> None:
    setup = invented_setup(
        span=SpanDocument.of(KnownSpan.taken(SPAN)),
        specification=specified(ToleranceBand(250.0, 460.0, BandUnit.NEWTON), Method.FORCE),
    )
    content = content_of(invented_record(final_pass(read()), setup))
    assert "the belt's stiffness is not known" in about(content)
    assert content.verdict.figure_name == "Stiffness-corrected tension at the final setting"


def test_a_force_judged_by_a_span_that_was_taken_as_flexible_is_warned_of() -> None:
    setup = invented_setup(
        specification=specified(ToleranceBand(380.0, 460.0, BandUnit.NEWTON), Method.FORCE)
    )
    content = content_of(invented_record(final_pass(read()), setup))
    assert "the verdict holds only for a belt without stiffness" in about(content)


def test_the_warnings_of_a_span_stand_on_the_page() -> None:
    span = SpanDocument.of(dataclasses.replace(SPAN_KNOWN, warnings=("invented: the density is rough",)))
    content = content_of(invented_record(final_pass(read()), invented_setup(span=span)))
    assert "Mind: invented: the density is rough." in about(content)
    assert any("the density is rough" in fact.value for fact in content.expert.span)


SPAN_KNOWN = KnownSpan.taken(SPAN, as_flexible=True)


def test_without_a_span_everything_is_told_in_hertz() -> None:
    setup = invented_setup(span=None, specification=specified(BAND_HZ, Method.FREQUENCY))
    record = invented_record(whole_job(setup), setup)
    content = content_of(record)
    assert content.unit == content.ladder.unit == "Hz"
    assert content.verdict.band == "110 to 122 Hz"
    assert record.found.run_in is None
    assert [row.mean for row in content.passes] == [
        "150.00", "", "118.00", "117.00",
    ]  # fmt: skip
    turned, level = content.expert.run_in_sentences
    assert turned.startswith("Turned over by hand since the last over-tension: 10 revolutions; 10 asked for")
    assert "that takes a span" in level
    assert not any(re.search(r"\d N\b", text) for text in texts(content.expert.run_in))


def test_a_pass_that_is_compared_in_another_quantity_names_its_unit_and_has_no_band_in_the_picture() -> None:
    over = SpecificationDocument.of(
        Specification(
            Method.FREQUENCY,
            (Stated(BeltState.OVER_TENSION, ToleranceBand(140.0, 160.0, BandUnit.HERTZ)),),
            "Invented sheet 3",
        )
    )
    setup = invented_setup(over_tension=over)
    content = content_of(invented_record(whole_job(setup), setup))
    assert content.unit == "N"
    assert content.passes[0].band == "140 to 160 Hz"
    assert float(content.passes[0].mean) == pytest.approx(0.02994354 * 150.0**2, abs=0.5)
    assert content.ladder.passes[0].band is None
    assert content.ladder.passes[0].verdict is Verdict.IN_BAND


def test_an_undecided_verdict_says_so_and_what_would_decide_it() -> None:
    content = content_of(invented_record(final_pass(read([113.0, 113.1, 112.9]))))  # 382.3 N, ± 6 N
    assert content.verdict.word == "Undecided"
    assert content.passes[0].verdict == "undecided: near the lower limit"
    assert "set to the middle of the band, it could be decided" in content.expert.decision_rule


def test_out_of_band_says_on_which_side() -> None:
    content = content_of(invented_record(final_pass(read([100.0, 100.1, 99.9]))))
    assert content.verdict.word == "Out of band"
    assert "out of band, too low" in about(content)
    assert content.passes[0].verdict == "out of band: too low"
    assert content.ladder.passes[0].verdict is Verdict.OUT_OF_BAND


@pytest.mark.parametrize("fundamentals_hz", [[118.0, 118.1], [113.0, 113.1], [100.0, 100.1], [110.0, 130.0]])
@pytest.mark.parametrize("rule", list(Rule))
def test_in_band_is_said_only_where_a_decision_says_so(fundamentals_hz: list[float], rule: Rule) -> None:
    record = invented_record(
        final_pass(read(fundamentals_hz)), invented_setup(decision_rule=RuleDocument(rule=rule))
    )
    content, compared = content_of(record), record.found.passes[0].compared
    is_in_band = compared is not None and compared.verdict is Verdict.IN_BAND
    assert (content.verdict.word == "In band") == is_in_band
    assert (content.passes[0].verdict == "in band") == is_in_band
    assert ("in band" in about(content)) == is_in_band
    assert str(rule) in content.expert.decision_rule.lower()


def test_what_was_skipped_stands_on_the_first_page_too() -> None:
    facts = [
        CautionsAcknowledged(cautions=cautions_for(invented_setup())),
        StepSkipped(step=Step.OVER_TENSION, reason="invented: a used belt"),
        StepSkipped(step=Step.TOOLS_OUT, reason="invented: none were in"),
        *final_pass(read()),
    ]
    content = content_of(invented_record(facts))
    assert "Skipped, for reasons on the pages behind: over-tension, locking tools out." in about(content)
    assert "Not done when this record was made: run-in, top dead centre." in about(content)
    assert (content.passes[0].name, content.passes[0].verdict) == ("over-tension", "skipped")
    assert content.ladder.passes[0].is_skipped
    assert [(row.what, row.reason) for row in content.expert.skipped] == [
        ("over-tension: skipped", "invented: a used belt"),
        ("locking tools out: skipped", "invented: none were in"),
    ]


def test_a_pass_that_was_made_again_is_counted_and_says_why() -> None:
    facts = [
        *a_pass(PassKind.FINAL_SETTING, read()),
        *a_pass(PassKind.FINAL_SETTING, read(), number=2, first_pluck=6, reason="invented: it slipped"),
    ]
    content = content_of(invented_record(facts))
    assert [row.name for row in content.passes] == ["final setting", "final setting 2"]
    assert content.verdict.figure_name.endswith("at the final setting 2")
    (row,) = content.expert.skipped
    assert (row.what, row.reason) == ("final setting 2: made again, or out of turn", "invented: it slipped")


def test_cautions_are_told_as_acknowledged_only_if_they_were() -> None:
    facts = final_pass(read())
    cautions = cautions_for(invented_setup())

    def said(*before: Fact) -> str:
        content = content_of(invented_record([*before, *facts]))
        assert content.expert.cautions == cautions
        return content.expert.cautions_acknowledged

    assert said(CautionsAcknowledged(cautions=cautions)) == "Acknowledged by Zofia Żółć on 2026-03-02 09:02."
    assert said() == "NOT acknowledged."
    assert said(CautionsAcknowledged(cautions=CAUTIONS)).endswith(
        "NOT acknowledged among them: Invented caution: let the engine cool to room temperature."
    )
    skipping = said(StepSkipped(step=Step.CAUTIONS, reason="invented: read before"))
    assert skipping == "NOT acknowledged. The step was skipped: invented: read before"


def test_corrections_stand_with_what_was_said_before() -> None:
    later = invented_setup(notes="invented: version 2")
    facts = [
        DetailCorrected(name="odometer_km", before=121_500.0, after=121_650.0, reason="invented: misread"),
        DetailCorrected(name="belt_c", before=20.0, after=None, reason="invented: not measured"),
        setup_taken(later, 2, "invented: a better length"),
        *final_pass(read()),
    ]
    content = content_of(invented_record(facts, later_setups=[later]))
    assert [(row.what, row.before, row.after, row.reason) for row in content.expert.corrections] == [
        ("odometer", "121500 km", "121650 km", "invented: misread"),
        ("belt temperature", "20 °C", "not stated", "invented: not measured"),
        (
            "setup",
            "Example Four, long span, version 1",
            "Example Four, long span, version 2",
            "invented: a better length",
        ),
    ]
    setups = [fact.value for fact in content.expert.instruments if fact.name == "Setup"]
    assert [", version 1," in setups[0], ", version 2," in setups[1]] == [True, True]
    facts_told = {fact.name: fact.value for fact in content.facts}
    assert facts_told["Odometer"] == "121650 km"
    assert "Belt temperature" not in facts_told


def test_the_checklist_tells_what_was_ticked_what_not_and_another_value_than_the_setups() -> None:
    ticked = LineTicked(step=Step.FINAL_SETTING, text="tensioner bolt", value=27.0, unit="N m")
    gone = LineTicked(step=Step.RUN_IN, text="an older line")
    content = content_of(invented_record([*final_pass(read()), ticked, gone]))
    assert [(row.line, row.value, row.state) for row in content.expert.checklist] == [
        ("locking tools out: crankshaft pin out", "", "NOT ticked"),
        ("final setting: tensioner bolt", "27 N m (setup: 25 N m)", "done"),
        ("run-in: an older line (not in the setup)", "", "done"),
    ]


def test_instruments_name_source_rate_channel_and_versions(whole: PdfContent) -> None:
    told = {fact.name: fact.value for fact in whole.expert.instruments}
    assert told["Microphone"] == "invented microphone, channel 1, 48000 Hz: plucks 1 to 21"
    assert told["Software"] == "tensionear 0.0.0; the log was written by version 0.0.0"
    assert told["Estimator"] == "version 1; the plucks were read by version 1"
    assert told["Record"].startswith("number 1 of archive")


def test_the_budgets_are_those_of_the_record_and_add_up(
    whole: PdfContent, whole_record: RecordDocument
) -> None:
    static, compared = whole.expert.budgets
    found = whole_record.found.passes[-1]
    assert (static.name, compared.name) == (
        "static tension at the re-check",
        "tension of a flexible span at the re-check, which is compared",
    )
    assert [row.name for row in static.rows] == [line.name for line in found.budget]
    # JCGM 100:2008, 5.1.2: without correlations the variance is the sum of the contributions squared.
    assert found.tension is not None
    total = sum(float(row.contribution) ** 2 for row in static.rows) ** 0.5
    assert total == pytest.approx(found.tension.standard_uncertainty, rel=0.03)
    assert sum(float(row.share) for row in static.rows) == pytest.approx(100.0, abs=0.5)
    assert not any("e" in row.value + row.standard_uncertainty + row.contribution for row in static.rows)


def test_the_run_in_is_told_as_it_was_found(whole: PdfContent, whole_record: RecordDocument) -> None:
    run_in = whole_record.found.run_in
    assert run_in is not None
    assert whole.run_in_sentence == f"{run_in.sentence}."
    assert [row.at for row in whole.expert.run_in] == [
        "over-tension", "2 revolutions", "4 revolutions", "6 revolutions", "8 revolutions", "10 revolutions",
    ]  # fmt: skip
    told = " ".join(whole.expert.run_in_sentences)
    for each in (run_in.level_sentence, run_in.further_sentence, run_in.setting_sentence):
        assert each[1:] in told


def test_photos_come_with_caption_and_hash() -> None:
    sha256 = sha256_of(PHOTO)
    facts = [*final_pass(read()), PhotoAdded(sha256=sha256, media_type="image/jpeg", caption="the mark")]
    (photo,) = content_of(invented_record(facts)).expert.photos
    assert photo.image == PHOTO
    assert photo.caption == f"the mark\nphotos/photo-01.jpg, SHA-256 {sha256[:12]}…"


def test_the_page_says_who_signs_and_what_wins(whole: PdfContent) -> None:
    assert whole.signatories == ("Technician: Zofia Żółć",)
    assert MANUFACTURER_WINS in whole.standing_sentences
    assert "± is the expanded uncertainty (95 %)" in whole.standing_sentences
    assert "Times are UTC." in whole.standing_sentences


def test_the_same_record_says_the_same(whole: PdfContent, whole_record: RecordDocument) -> None:
    again = RecordDocument.model_validate_json(whole_record.canonical())
    assert content_of(again) == whole
