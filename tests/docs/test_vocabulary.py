"""Every name that a person or a program meets stands in `docs/vocabulary.md`."""

import json
import re
from dataclasses import fields, replace
from enum import StrEnum
from pathlib import Path

import numpy as np
import pytest
from pydantic import BaseModel

from tensionear.belt.band import BandUnit, ToleranceBand
from tensionear.belt.calibration import Calibration
from tensionear.belt.plucked_spans import HungSpan, PluckedPartial, PluckedSpan
from tensionear.belt.span import BeltSpan
from tensionear.belt.stiffness import SpanStiffness
from tensionear.cli.devices import write_check, write_device
from tensionear.cli.exit_code import ExitCode
from tensionear.cli.reading_options import HowTold
from tensionear.cli.report_json import JsonReport
from tensionear.cli.trouble import tell_trouble
from tensionear.job.archive.archived_job import ArchivedJob
from tensionear.job.archive.checking import ArchiveFault, ArchiveFinding
from tensionear.job.archive.copying import Copied
from tensionear.job.archive.history import HistoryLine
from tensionear.job.archive.holdings import ArchiveDeed, ArchiveHoldings
from tensionear.job.archive.purging import Purged
from tensionear.job.archive.records import ChainPlace, KeptRecord
from tensionear.job.archive.salvage_report import Loss, Salvaged
from tensionear.job.archive.search import JobQuery, JobSummary
from tensionear.job.archive.setups import KeptSetup
from tensionear.job.bundle.bundle_file import Difference, Unpacked
from tensionear.job.bundle.chain import ChainDocument
from tensionear.job.bundle.seal import Seal, SealedFile, Signature
from tensionear.job.bundle.seal_check import SealFault, SealFinding
from tensionear.job.photo import Photo
from tensionear.job.photo_position import Position
from tensionear.known_span import KnownSpan, SpanModel
from tensionear.metrology.advice import Aim, Move, RepeatedInput, WayOut
from tensionear.metrology.budget import (
    Budget,
    BudgetInput,
    BudgetLine,
    Correlation,
    Distribution,
    EvaluationType,
)
from tensionear.metrology.decision import Decision, DecisionRule, Rule, Side, Verdict
from tensionear.metrology.improvement import Improvement
from tensionear.metrology.levelling import Levelling, LevelState, NotToldReason
from tensionear.metrology.marks import Mark
from tensionear.metrology.monte_carlo import PropagatedDistribution
from tensionear.metrology.pluck_set import Disagreement, SetStatistics
from tensionear.metrology.risk import GlobalRisks
from tensionear.metrology.run_in import CountedPlucks, RunIn
from tensionear.metrology.settling_law import FurtherFall, NoForecast, SettlingLaw
from tensionear.metrology.span_comparison import SpanComparison
from tensionear.metrology.tension_change import (
    LimitMargin,
    ReCheck,
    SettingPlucks,
    TensionFall,
    TensionLimits,
)
from tensionear.metrology.tension_ratio import Repeatability
from tensionear.metrology.tensioner import (
    TensionerMove,
    TensionerReading,
    TensionerRefusal,
    TensionerRefusalReason,
)
from tensionear.metrology.uncertainty import Measured
from tensionear.next_step import BeltMove
from tensionear.pluck.listener import HeardPluck
from tensionear.pluck.outcome import Partial, PluckClip, PluckReading, PluckRefusal, RefusalReason, Rival
from tensionear.reading import read_pluck, summarise
from tensionear.sound.devices import InputDevice
from tensionear.sound.microphone_check import Aspect, Finding, Judgement, MicrophoneCheck
from tensionear.task import Assessment, BeltTask
from tests.compared import as_force

PAGE = (Path(__file__).parents[2] / "docs" / "vocabulary.md").read_text(encoding="utf-8")
NAMES = set(re.findall(r"`([^`]+)`", PAGE))
OUTPUT_TABLE = PAGE.split("## Output for programs", 1)[1].split("## Exit codes", 1)[0]


@pytest.mark.parametrize(
    "record",
    [
        KeptSetup,
        ArchivedJob,
        JobQuery,
        JobSummary,
        HistoryLine,
        ArchiveHoldings,
        ArchiveDeed,
        Copied,
        Purged,
        ArchiveFinding,
        Loss,
        Salvaged,
        KeptRecord,
        ChainPlace,
        PluckClip,
        Partial,
        Rival,
        PluckReading,
        PluckRefusal,
        BeltSpan,
        SpanStiffness,
        PluckedPartial,
        PluckedSpan,
        HungSpan,
        Calibration,
        ToleranceBand,
        Measured,
        Decision,
        SetStatistics,
        DecisionRule,
        Budget,
        BudgetLine,
        BudgetInput,
        Correlation,
        Improvement,
        PropagatedDistribution,
        GlobalRisks,
        RepeatedInput,
        WayOut,
        Move,
        TensionerReading,
        TensionerMove,
        TensionerRefusal,
        SpanComparison,
        CountedPlucks,
        SettingPlucks,
        RunIn,
        Repeatability,
        TensionFall,
        TensionLimits,
        LimitMargin,
        ReCheck,
        Levelling,
        FurtherFall,
        KnownSpan,
        BeltTask,
        Assessment,
        BeltMove,
        Unpacked,
        Difference,
        SealFinding,
        Photo,
        Position,
    ],
)
def test_every_field_is_in_the_vocabulary(record: type) -> None:
    assert {field.name for field in fields(record)} <= NAMES
    assert record.__name__ in NAMES


@pytest.mark.parametrize("document", [ChainDocument, Seal, SealedFile, Signature])
def test_every_field_of_a_seal_is_in_the_vocabulary(document: type[BaseModel]) -> None:
    assert set(document.model_fields) <= NAMES
    assert document.__name__ in NAMES


@pytest.mark.parametrize(
    "words",
    [
        RefusalReason,
        Verdict,
        Side,
        BandUnit,
        Mark,
        Disagreement,
        Aspect,
        Judgement,
        Rule,
        Aim,
        Distribution,
        EvaluationType,
        TensionerRefusalReason,
        LevelState,
        NotToldReason,
        SettlingLaw,
        NoForecast,
        SpanModel,
        SealFault,
        ArchiveFault,
    ],
)
def test_every_word_of_an_answer_is_in_the_vocabulary(words: type[StrEnum]) -> None:
    assert {word.value for word in words} <= NAMES


def test_exit_codes_are_those_of_the_program() -> None:
    table = PAGE.split("## Exit codes", 1)[1]
    codes = [(int(code), name) for code, name in re.findall(r"^\| (\d+) \| `(\w+)` \|", table, re.MULTILINE)]
    assert codes == [(code.value, code.name) for code in ExitCode]


def test_output_for_programs_has_the_names_of_the_vocabulary_and_no_others(
    capsys: pytest.CaptureFixture[str],
) -> None:
    reading = PluckReading(
        at_s=1.0,
        fundamental_hz=119.0,
        fundamental_standard_uncertainty_hz=0.05,
        ring_time_s=0.2,
        snr_db=30.0,
        support=0.9,
        stretch=0.001,
        glide_hz=0.5,
        partials=(),
        rivals=(Rival(fundamental_hz=59.5, support=0.1),),
    )
    clip = PluckClip(np.zeros(8, dtype=np.float32), 8000.0, 0)
    task = BeltTask(KnownSpan.taken(BeltSpan(0.213, 0.0005, 0.165, 0.001)), as_force(380, 460))
    pluck = read_pluck("invented", 1, HeardPluck(clip, reading), task)
    report = JsonReport(task, HowTold())
    report.begin()
    report.tell_pluck(pluck)
    octave = read_pluck("invented", 1, HeardPluck(clip, replace(reading, fundamental_hz=238.0)), task)
    report.tell_set(summarise([pluck, pluck, octave, pluck], task))
    tell_trouble("invented", as_json=True)
    write_device(InputDevice(1, "invented", "invented", 1, 48000.0, True))
    write_check(
        "invented", MicrophoneCheck((Finding(Aspect.ALIVE, Judgement.GOOD, "Invented."),), -60.0, 3.0)
    )
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["kind"] for line in lines] == [
        "begin", "pluck", "set", "error", "device", "finding", "check",
    ]  # fmt: skip
    told = {name for line in lines for name in line}
    told |= {name for line in lines for rival in line.get("rivals", []) for name in rival}
    told |= {name for line in lines for marked in line.get("marked", []) for name in marked}
    assert "mark" in told
    nested = ("band", "limited_by", "way_out", "move")
    told_within = {name for line in lines for key in nested for name in line.get(key) or {}}
    assert {"lower", "sentence", "n_more_plucks", "target_hz"} < told_within
    first_cells = re.findall(r"^\| (`[^|]+) \|", OUTPUT_TABLE, re.MULTILINE)
    in_table = {name for cell in first_cells for name in re.findall(r"`(\w+)`", cell)}
    assert told == in_table
    assert all(f"`{name}`" in OUTPUT_TABLE for name in told_within)
