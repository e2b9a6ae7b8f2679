"""Make the demo recordings: ``python -m recordings_demo.make``, from the project's root.

Each recording of `recordings_demo.plan` becomes a 16-bit FLAC file and a JSON file of the same name, which
tells how it was made and the truth: ``plucks`` lists ``at_s``, ``fundamental_hz`` (small amplitude),
``static_tension_n`` (the simulated one), ``flexible_span_tension_n`` (4 m L² f² of the true fundamental:
what a reading that takes the span as flexible should give), ``glide`` and more.

``job.json`` lists them for whoever plays the job through::

    invented, note, engine, belt                  invented names
    specification     name, stated_for
    span              span_length_mm, span_length_standard_uncertainty_mm,
                      linear_density_g_per_m, linear_density_standard_uncertainty_g_per_m
    passes            in order, each: name, recording (file beside job.json), about, expected,
                      band_n ([lower, upper] or null), expected_verdict ("in band" or null)
    hard_cases        the same keys

The bands are invented for a vibration reading that takes the span as flexible; the span's stiffness and
its held ends make the true tension some per cent lower.
"""

import json
import math
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import soundfile
from numpy.typing import NDArray

from benchmarks.simulator import air, noise
from benchmarks.simulator.span import Span, damped_span
from benchmarks.simulator.strip import Strip
from benchmarks.simulator.swing import Finger
from recordings_demo import plan
from recordings_demo.plan import PlannedPluck, PlannedRecording

FOLDER = Path(__file__).resolve().parent

_NOTE = "Invented. No engine, belt or specification here is real, and no value may be used on anything real."
_RING_S = 1.2
_MADE_WITH = ("seed", "sample_rate_hz", "snr_db", "hum_db", "clank_db", "microphone", "peak", "dead_channel")


def make_recording(planned: PlannedRecording) -> tuple[NDArray[np.float32], dict[str, Any]]:
    """Simulate one recording.

    Returns
    -------
    samples : array of float32, shape (n_frames, n_channels)
        Full scale 1, in steps of 16 bits.
    truth : dict
        The content of the JSON file beside it.
    """
    rate_hz = planned.sample_rate_hz
    rng = np.random.default_rng(planned.seed)
    # A small workshop, the microphone a hand's breadth from the span.
    response = air.room_response(rng, 0.5, 22.0, rate_hz)

    at = np.cumsum([1.5, *rng.uniform(2.0, 2.6, len(planned.plucks) - 1)])
    onsets = [round(at_s * rate_hz) for at_s in at]
    n = onsets[-1] + round(1.7 * rate_hz)
    ring, answer, knocks = np.zeros(n), np.zeros(n), np.zeros(n)
    truths = []
    for onset, pluck in zip(onsets, planned.plucks, strict=True):
        span = _span(planned.seed, pluck.tension_n)
        finger = Finger(rng.uniform(0.25, 0.4), 0.012, rng.uniform(0.0008, 0.002), pluck.amplitude_m)
        sound = span.plucked(finger, rate_hz, round(_RING_S * rate_hz))
        noise.add(ring, onset, sound)
        peak = float(np.max(np.abs(sound)))
        noise.add(knocks, onset, peak * rng.uniform(0.05, 0.2) * noise.knock(rng, rate_hz // 5, rate_hz))
        noise.add_rub(rng, knocks, onset, 0.01 * peak, rate_hz)
        truth = _truth(span, finger, pluck, onset / rate_hz)
        if pluck.neighbour_db is not None:
            neighbour = _span(planned.seed + 1000, pluck.tension_n, plan.NEIGHBOUR_LENGTH_M)
            pull = Finger(0.08, 0.015, finger.release_s, 1e-5)
            level = 10 ** (pluck.neighbour_db / 20) * np.sqrt(_first_power(sound, span, rate_hz))
            other = neighbour.plucked(pull, rate_hz, len(sound))
            noise.add(answer, onset, level / np.sqrt(_first_power(other, span, rate_hz)) * other)
            truth["neighbour_fundamental_hz"] = round(neighbour.fundamental_hz, 4)
            truth["neighbour_db"] = pluck.neighbour_db
        truths.append(truth)

    def recorded(sound: NDArray[np.float64]) -> NDArray[np.float64]:
        return air.through_microphone(air.through_room(sound, response), *planned.microphone, rate_hz)

    heard = recorded(ring)
    powers = [
        _first_power(heard[onset:], _span(planned.seed, planned.plucks[0].tension_n), rate_hz)
        for onset in onsets
    ]
    level, peak = math.sqrt(float(np.median(powers))), float(np.max(np.abs(heard)))
    heard = heard + recorded(answer + knocks)
    if planned.hum_db is not None:
        hum = noise.mains_hum(rng, n, rate_hz, 50.02)
        heard += hum * level * 10 ** (planned.hum_db / 20) / math.sqrt(noise.band_power(hum, rate_hz))
    if planned.clank_db is not None:
        hits = np.zeros(n)
        for onset in onsets:
            noise.add(hits, onset - rate_hz, noise.clanks(rng, 2 * rate_hz, rate_hz, rate_hz))
        heard += recorded(hits) * peak * 10 ** (planned.clank_db / 20)
    # Workshop air is mostly low noise; what lies above hearing's middle costs file size and teaches nothing.
    background = air.through_microphone(noise.coloured(rng, n, rate_hz, 1.5), *planned.microphone, rate_hz)
    heard += (
        background * level * 10 ** (-planned.snr_db / 20) / math.sqrt(noise.band_power(background, rate_hz))
    )

    gain = planned.peak / float(np.max(np.abs(heard)))
    for truth, onset in zip(truths, onsets, strict=True):
        truth["clipped"] = bool(np.max(np.abs(heard[onset : onset + rate_hz])) * gain >= 1.0)
    channels = [air.digitised(heard, gain)]
    if planned.dead_channel:
        hiss = noise.coloured(rng, n, rate_hz, 0.0)
        channels.insert(0, air.digitised(2e-3 * heard + 3e-5 * hiss / np.std(hiss) / gain, gain))
    return np.stack(channels, axis=1), _description(planned, truths, len(channels))


def job() -> dict[str, Any]:
    """Describe the invented job: the content of job.json."""

    def entry(planned: PlannedRecording) -> dict[str, Any]:
        return {
            "name": planned.name,
            "recording": f"{planned.name}.flac",
            "about": planned.about,
            "expected": planned.expected,
            "band_n": None if planned.band_n is None else list(planned.band_n),
            "expected_verdict": planned.expected_verdict,
        }

    return {
        "invented": True,
        "note": _NOTE,
        "engine": plan.ENGINE,
        "belt": plan.BELT,
        "specification": {
            "name": plan.SPECIFICATION,
            "stated_for": "a vibration reading that takes the span as flexible, T = 4 m L² f²",
        },
        "span": {
            "span_length_mm": plan.SPAN_LENGTH_M * 1000,
            "span_length_standard_uncertainty_mm": 0.5,
            "linear_density_g_per_m": plan.LINEAR_DENSITY_KG_PER_M * 1000,
            "linear_density_standard_uncertainty_g_per_m": 1.0,
        },
        "passes": [entry(planned) for planned in plan.PASSES],
        "hard_cases": [entry(planned) for planned in plan.HARD_CASES],
    }


def main() -> None:
    """Write every recording, the JSON beside it, and job.json."""
    for planned in (*plan.PASSES, *plan.HARD_CASES):
        samples, truth = make_recording(planned)
        path = FOLDER / f"{planned.name}.flac"
        soundfile.write(path, samples, planned.sample_rate_hz, subtype="PCM_16")
        _write_json(path.with_suffix(".json"), truth)
        print(
            f"{path.name}: {len(samples) / planned.sample_rate_hz:.1f} s, {path.stat().st_size / 1000:.0f} kB"
        )
    _write_json(FOLDER / "job.json", job())


def _span(seed: int, tension_n: float, length_m: float = plan.SPAN_LENGTH_M) -> Span:
    """Set the demo's span to a tension; one seed gives one damping and one place of the microphone."""
    strip = Strip(
        length_m,
        plan.LINEAR_DENSITY_KG_PER_M,
        tension_n,
        plan.BENDING_STIFFNESS_N_M2,
        plan.AXIAL_STIFFNESS_N,
        plan.END_SPRINGS_N_M,
    )
    return damped_span(np.random.default_rng(seed), strip, plan.QUALITY)


def _first_power(sound: NDArray[np.float64], span: Span, rate_hz: float) -> float:
    """Mean square within 20 to 2000 Hz over the span's first time constant."""
    n = round(span.ring_time_s * rate_hz)
    return float(np.mean(noise.band_limited(sound[: round(_RING_S * rate_hz)], rate_hz)[:n] ** 2))


def _truth(span: Span, finger: Finger, pluck: PlannedPluck, at_s: float) -> dict[str, Any]:
    flexible_n = 4 * plan.LINEAR_DENSITY_KG_PER_M * (plan.SPAN_LENGTH_M * span.fundamental_hz) ** 2
    truth: dict[str, Any] = {
        "at_s": round(at_s, 6),
        "fundamental_hz": round(span.fundamental_hz, 4),
        "static_tension_n": pluck.tension_n,
        "flexible_span_tension_n": round(flexible_n, 2),
        "ring_time_s": round(span.ring_time_s, 4),
        "glide": round(span.glide(finger), 5),
        "finger": {name: round(value, 6) for name, value in asdict(finger).items()},
    }
    if pluck.revolutions is not None:
        truth["revolutions"] = pluck.revolutions
    return truth


def _description(planned: PlannedRecording, truths: list[dict[str, Any]], n_channels: int) -> dict[str, Any]:
    return {
        "invented": True,
        "note": _NOTE,
        "engine": plan.ENGINE,
        "belt": plan.BELT,
        "about": planned.about,
        "expected": planned.expected,
        "plucks": truths,
        "made": {
            "by": "python -m recordings_demo.make",
            "how": "finite elements of a stiff damped strip, stretched by its swing; room; microphone",
            "n_channels": n_channels,
            "span": {
                "span_length_m": plan.SPAN_LENGTH_M,
                "linear_density_kg_per_m": plan.LINEAR_DENSITY_KG_PER_M,
                "bending_stiffness_n_m2": plan.BENDING_STIFFNESS_N_M2,
                "axial_stiffness_n": plan.AXIAL_STIFFNESS_N,
                "end_springs_n_m_per_rad": list(plan.END_SPRINGS_N_M),
                "quality": plan.QUALITY,
            },
            **{name: value for name, value in asdict(planned).items() if name in _MADE_WITH},
        },
    }


def _write_json(path: Path, content: dict[str, Any]) -> None:
    path.write_text(json.dumps(content, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
