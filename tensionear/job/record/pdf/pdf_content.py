"""What stands in a record's PDF: words and figures as they are to be read, in their order.

Nothing here is computed, rounded or judged; whoever fills it in has done that. Figures of one column have one unit,
which its heading names. A text may hold line breaks. An empty text is a gap that is meant: it is not known, or it
does not apply.
"""

from dataclasses import dataclass, field
from datetime import datetime

from tensionear.pass_ladder_picture import PassLadder


@dataclass(frozen=True)
class Fact:
    """A name and what is known under it, as "engine" and "Invented engine 'Example Four'"."""

    name: str
    value: str


@dataclass(frozen=True)
class VerdictStatement:
    """The outcome of the job.

    Attributes
    ----------
    word : str
        Such as "In band" or "No verdict".
    sentence : str
        The same in plain words, with figure, ± and band, or why there is no verdict.
    figure_name, figure : str
        Such as "Static tension at the re-check" and "395.0 N ± 5.0 N"; both empty without a figure.
    band : str
        Such as "380 N to 460 N"; empty if there is none.
    band_name : str
        What that is.
    remarks : tuple of str
        What is to be known beside the sentence, so that it is not taken for more than it is.
    """

    word: str
    sentence: str
    figure_name: str = ""
    figure: str = ""
    band: str = ""
    band_name: str = "Tolerance band"
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class PassRow:
    """A pass in the short table.

    Attributes
    ----------
    name, when : str
        Its kind, and date and time.
    plucks : str
        How many count, such as "5" or "4 of 6".
    mean, expanded_uncertainty : str
        [unit of the content]
    band, verdict : str
        As words, such as "380 to 460" and "in band"; or "skipped".
    """

    name: str
    when: str
    plucks: str = ""
    mean: str = ""
    expanded_uncertainty: str = ""
    band: str = ""
    verdict: str = ""


@dataclass(frozen=True)
class ReadingRow:
    """A pluck, read or refused.

    Attributes
    ----------
    number, when : str
        Within its pass; time of day.
    revolution : str
        Revolutions of the run-in before it.
    fundamental, fundamental_standard_uncertainty : str
        [Hz]
    tension, tension_expanded_uncertainty : str
        [N]
    ring_time, snr, support : str
        [s], [dB], [1]
    result : str
        Such as "in mean", "marked", "struck out" or "refused"; why is told among `PdfContent.left_out`.
    """

    number: str
    when: str
    revolution: str = ""
    fundamental: str = ""
    fundamental_standard_uncertainty: str = ""
    tension: str = ""
    tension_expanded_uncertainty: str = ""
    ring_time: str = ""
    snr: str = ""
    support: str = ""
    result: str = ""


@dataclass(frozen=True)
class PassReadings:
    """The plucks of a pass under its name."""

    name: str
    rows: tuple[ReadingRow, ...]


@dataclass(frozen=True)
class RunInRow:
    """Where the belt stood after so many revolutions.

    Attributes
    ----------
    at : str
        Such as "over-tension", "2 revolutions" or "final setting".
    mean, expanded_uncertainty : str
        [unit of the run-in]
    change, change_expanded_uncertainty : str
        From the row before; empty in all rows for no such columns. [unit of the run-in]
    """

    at: str
    mean: str
    expanded_uncertainty: str
    change: str = ""
    change_expanded_uncertainty: str = ""


@dataclass(frozen=True)
class BudgetRow:
    """An input of the uncertainty budget.

    Attributes
    ----------
    name, origin : str
        What, and where its uncertainty comes from.
    value, standard_uncertainty, unit : str
        In its own unit.
    evaluation, distribution : str
        Type A or B; such as "normal".
    contribution : str
        [unit of the budget]
    share : str
        Of the variance. [%]
    """

    name: str
    origin: str
    value: str
    standard_uncertainty: str
    unit: str
    evaluation: str
    distribution: str
    contribution: str
    share: str


@dataclass(frozen=True)
class BudgetTable:
    """An uncertainty budget.

    Attributes
    ----------
    name, unit : str
        Such as "static tension at the final setting" and "N".
    rows : tuple of BudgetRow
        In the order of the model's arguments.
    result : str
        The result, with combined standard uncertainty, coverage factor and expanded uncertainty, as a sentence.
    """

    name: str
    unit: str
    rows: tuple[BudgetRow, ...]
    result: str


@dataclass(frozen=True)
class ReasonRow:
    """Something that was left out or skipped, and why.

    Attributes
    ----------
    what, when, by : str
        Such as "final setting, pluck 5: struck out", date and time, and who.
    reason : str
        As it was given.
    """

    what: str
    when: str
    by: str
    reason: str


@dataclass(frozen=True)
class CorrectionRow:
    """A correction, which is an addition: what was said before stays."""

    what: str
    before: str
    after: str
    when: str
    by: str
    reason: str


@dataclass(frozen=True)
class ChecklistRow:
    """A line of the checklist.

    Attributes
    ----------
    line : str
        As the setup has it.
    value : str
        Such as a torque with its unit.
    state : str
        Such as "done" or "not ticked".
    when, by : str
        Date and time, and who.
    """

    line: str
    value: str = ""
    state: str = ""
    when: str = ""
    by: str = ""


@dataclass(frozen=True)
class Photo:
    """A photo.

    Attributes
    ----------
    image : bytes
        JPEG, PNG or another usual kind of picture. Only the picture itself goes into the PDF: neither place nor
        camera that it may name.
    caption : str
        What it shows; file name and hash if they are to be told.
    """

    image: bytes
    caption: str


@dataclass(frozen=True)
class ExpertContent:
    """What an expert needs.

    Attributes
    ----------
    readings : tuple of PassReadings
        Every pluck of every pass.
    left_out : tuple of ReasonRow
        Refused, marked and struck-out plucks with the reasons.
    run_in : tuple of RunInRow
        Empty without a run-in.
    run_in_unit : str
        Of its table; empty: the unit of the content.
    run_in_sentences : tuple of str
        Settlement, whether it is level, what a further fall would bring.
    budgets : tuple of BudgetTable
        Empty if nothing was measured.
    specification, span, instruments : tuple of Fact
        What was asked for and by whom; how span length, density, stiffness were found; microphone, rate, software
        and estimator versions.
    decision_rule : str
        By what it was judged.
    cautions : tuple of str
        As they were shown.
    cautions_acknowledged : str
        By whom and when, or that they were not.
    checklist : tuple of ChecklistRow
        With torques.
    skipped : tuple of ReasonRow
        Skipped steps.
    corrections : tuple of CorrectionRow
        The earliest first.
    notes : str
        The technician's.
    photos : tuple of Photo
        In the order of the day.
    """

    readings: tuple[PassReadings, ...] = ()
    left_out: tuple[ReasonRow, ...] = ()
    run_in: tuple[RunInRow, ...] = ()
    run_in_unit: str = ""
    run_in_sentences: tuple[str, ...] = ()
    budgets: tuple[BudgetTable, ...] = ()
    specification: tuple[Fact, ...] = ()
    span: tuple[Fact, ...] = ()
    instruments: tuple[Fact, ...] = ()
    decision_rule: str = ""
    cautions: tuple[str, ...] = ()
    cautions_acknowledged: str = ""
    checklist: tuple[ChecklistRow, ...] = ()
    skipped: tuple[ReasonRow, ...] = ()
    corrections: tuple[CorrectionRow, ...] = ()
    notes: str = ""
    photos: tuple[Photo, ...] = ()


@dataclass(frozen=True)
class PdfContent:
    """What stands in a record's PDF.

    Attributes
    ----------
    job_number : str
        In every footer.
    record_sha256 : str
        Of the record (64 hexadecimal digits); its first 12 are in every footer.
    drawn_up_at : datetime
        When the record was drawn up, with a time zone. It is the PDF's own date too, so that the same content
        gives the same file.
    software_version : str
        Of tensionear.
    workshop : str
        Name, and if wanted address, one line each.
    facts : tuple of Fact
        Who, when, which vehicle, engine, belt; the first column before the second.
    verdict : VerdictStatement
        The outcome.
    ladder : PassLadder
        The picture.
    passes : tuple of PassRow
        The short table.
    unit : str
        Of tables and picture: N, or Hz if nothing is known of the span.
    run_in_sentence : str
        The run-in in one plain sentence.
    standing_sentences : str
        What every record says, such as that the vehicle manufacturer's procedure wins.
    signatories : tuple of str
        Who signs, such as "Technician: A. Example"; a line each.
    demonstration : str
        What every page says at its top if the job is a demonstration; empty if it is a real one.
    expert : ExpertContent
        The pages behind the first.
    title : str
        The heading.
    """

    job_number: str
    record_sha256: str
    drawn_up_at: datetime
    software_version: str
    workshop: str
    facts: tuple[Fact, ...]
    verdict: VerdictStatement
    ladder: PassLadder
    passes: tuple[PassRow, ...]
    unit: str
    run_in_sentence: str
    standing_sentences: str
    signatories: tuple[str, ...]
    demonstration: str = ""
    expert: ExpertContent = field(default_factory=ExpertContent)
    title: str = "Record of timing-belt tension"
