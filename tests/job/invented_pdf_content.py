"""The content of a record's PDF for an invented job, as a helper of tests: no value here is of anything real."""

from datetime import UTC, datetime
from io import BytesIO

from PIL import Image

from tensionear.cautions import CAUTIONS
from tensionear.job.record.pdf.pdf_content import (
    BudgetRow,
    BudgetTable,
    ChecklistRow,
    CorrectionRow,
    ExpertContent,
    Fact,
    PassReadings,
    PassRow,
    PdfContent,
    Photo,
    ReadingRow,
    ReasonRow,
    RunInRow,
    VerdictStatement,
)
from tensionear.metrology.decision import Verdict
from tensionear.pass_ladder_picture import LadderPass, LadderPluck, PassLadder
from tensionear.tension_axes import Band, Mean

RECORD_SHA256 = "3f9a12bc88e0" + "5d7710fe" * 6 + "ab12"
DEMONSTRATION = "DEMONSTRATION: everything here is invented; no value may be used on anything real."
FINAL_BAND = Band(380.0, 460.0)
LADDER = PassLadder(
    (
        LadderPass(
            "over-tension",
            (LadderPluck(650.1), LadderPluck(648.2)),
            mean=Mean(649.2, 8.1, "649.2 ± 8.1 N"),
            band=Band(600.0, 760.0),
            verdict=Verdict.IN_BAND,
        ),
        LadderPass("run-in", tuple(LadderPluck(644.0 - 10 * n, revolution=n) for n in (0, 2, 4))),
        LadderPass(
            "final setting",
            (LadderPluck(402.0), LadderPluck(403.2)),
            n_refused=1,
            mean=Mean(402.6, 5.1, "402.6 ± 5.1 N"),
            band=FINAL_BAND,
            verdict=Verdict.IN_BAND,
        ),
    )
)


def photo(width: int = 320, height: int = 240, exif: Image.Exif | None = None) -> bytes:
    """A JPEG, left half black, right half white."""
    image = Image.new("RGB", (width, height), "white")
    image.paste("black", (0, 0, width // 2, height))
    file = BytesIO()
    image.save(file, "JPEG", exif=exif or Image.Exif())
    return file.getvalue()


READ = ReadingRow(
    "1", "09:48:05", "", "118.93", "0.06", "402.0", "5.1", ring_time="0.064", snr="31", support="0.94",
    result="in mean",
)  # fmt: skip
EXPERT = ExpertContent(
    readings=(PassReadings("final setting", (READ, ReadingRow("2", "09:48:10", result="refused"))),),
    left_out=(ReasonRow("final setting, pluck 2: refused", "09:48:10", "tensionear", "too weak"),),
    run_in=(
        RunInRow("0 revolutions", "644.0", "7.9"),
        RunInRow("2 revolutions", "634.0", "7.8", "-10.0", "2"),
    ),
    run_in_sentences=("The tension fell by 3.1 % in four revolutions.",),
    budgets=(
        BudgetTable(
            "static tension at the final setting",
            "N",
            (
                BudgetRow(
                    "span length", "tape measure", "213.0", "0.5", "mm", "B", "rectangular", "1.89", "55.2"
                ),
            ),
            "Expanded uncertainty 5.1 N.",
        ),
    ),
    specification=(Fact("source", "Invented specification 'Example Sheet 1'"),),
    span=(Fact("span length", "213.0 mm ± 0.9 mm"),),
    instruments=(Fact("microphone", "Invented microphone"), Fact("estimator", "version 3")),
    decision_rule="Guarded acceptance and rejection.",
    cautions=CAUTIONS,
    cautions_acknowledged="Acknowledged by A. Example, 2026-10-14 09:05.",
    checklist=(ChecklistRow("tensioner fastener torque", "25 N·m", "done", "09:46", "A. Example"),),
    skipped=(ReasonRow("re-check", "2026-10-14", "A. Example", "the customer could not wait"),),
    corrections=(
        CorrectionRow(
            "odometer", "18240 km", "182400 km", "2026-10-14", "A. Example", "a figure was left out"
        ),
    ),
    notes="The belt's back was dry.",
    photos=(Photo(photo(), "Tensioner mark"), Photo(photo(240, 320), "Timing marks")),
)
CONTENT = PdfContent(
    job_number="2026-0143",
    record_sha256=RECORD_SHA256,
    drawn_up_at=datetime(2026, 10, 15, 10, 30, tzinfo=UTC),
    software_version="0.0",
    workshop="Invented workshop 'Example Garage'",
    facts=(
        Fact("Technician", "A. Example"),
        Fact("Vehicle", "Invented vehicle 'Example Wagon'"),
        Fact("Engine", "Invented engine 'Example Four'"),
        Fact("Belt", "Invented timing belt 'Example Belt'"),
    ),
    verdict=VerdictStatement(
        "In band",
        "The belt's tension lies within the band.",
        "Static tension at the final setting",
        "402.6 N ± 5.1 N",
        "380 N to 460 N",
    ),
    ladder=LADDER,
    passes=(
        PassRow("over-tension", "2026-10-14 09:12", "2 of 2", "649.2", "8.1", "600 to 760", "in band"),
        PassRow("final setting", "2026-10-14 09:48", "2 of 3", "402.6", "5.1", "380 to 460", "in band"),
    ),
    unit="N",
    run_in_sentence="the tension fell by 3.1 % in four revolutions.",
    standing_sentences="The vehicle manufacturer's procedure, values and torques win over anything here.",
    signatories=("Technician: A. Example",),
    demonstration=DEMONSTRATION,
    expert=EXPERT,
)
