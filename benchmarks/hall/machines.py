"""Air tools, a compressor that starts and stops, a grinder, an engine that is cranked."""

import numpy as np
import scipy.signal

from benchmarks.simulator import noise
from benchmarks.simulator.noise import Sound


def machines(rng: np.random.Generator, n: int, sample_rate_hz: int) -> Sound:
    """Run one machine after the other, sometimes two at once, with pauses."""
    makers = (impact_wrench, air_gun, compressor, grinder, cranking)
    sound = np.zeros(n)
    start_s = rng.exponential(1.0)
    while start_s < n / sample_rate_hz:
        run = makers[rng.integers(len(makers))](rng, sample_rate_hz)
        noise.add(sound, int(start_s * sample_rate_hz), 10 ** (rng.uniform(-20, 0) / 20) * run)
        start_s += rng.uniform(0.5, 1.2) * len(run) / sample_rate_hz + rng.exponential(0.7)
    return sound


def impact_wrench(rng: np.random.Generator, sample_rate_hz: int) -> Sound:
    """Hammer 0.3 to 3 s at 15 to 45 blows a second, in the hiss of the escaping air; peak 1."""
    run_s = rng.uniform(0.3, 3.0)
    n = int((run_s + 0.6) * sample_rate_hz)
    sound = np.zeros(n)
    blow = noise.ringing_hit(rng, int(0.3 * sample_rate_hz), sample_rate_hz)
    at_s, gap_s = 0.05, 1 / rng.uniform(15, 45)
    while at_s < run_s:
        noise.add(sound, int(at_s * sample_rate_hz), rng.uniform(0.5, 1.0) * blow)
        at_s += gap_s * rng.normal(1, 0.04)
    return _peak_1(sound + rng.uniform(0.05, 0.5) * _hiss(rng, n, run_s, sample_rate_hz))


def air_gun(rng: np.random.Generator, sample_rate_hz: int) -> Sound:
    """Blow or vent air: a broadband burst of 0.05 to 2 s that opens fast and dies away; peak 1."""
    run_s = rng.uniform(0.05, 2.0)
    return _peak_1(_hiss(rng, int((run_s + 1.0) * sample_rate_hz), run_s, sample_rate_hz))


def compressor(rng: np.random.Generator, sample_rate_hz: int) -> Sound:
    """Start a piston compressor (relay, inrush, run-up), let it run, stop it (run-down, vent); peak 1."""
    run_up_s, run_s, run_down_s = rng.uniform(0.3, 2.5), rng.uniform(1, 6), rng.uniform(0.4, 2)
    speed = _run(run_up_s, run_s, run_down_s, sample_rate_hz)
    n = len(speed)
    sound = _turning(rng, rng.uniform(10, 50) * speed, int(rng.integers(6, 25)), sample_rate_hz) * speed
    time_s = np.arange(n) / sample_rate_hz
    # The motor draws several times its current until it is up to speed, and hums with it.
    inrush = (1 + rng.uniform(1, 5) * np.exp(-time_s / rng.uniform(0.1, 0.5))) * (time_s < run_up_s + run_s)
    sound += (
        rng.uniform(0.1, 0.6) * inrush * noise.mains_hum(rng, n, sample_rate_hz, rng.choice([50.0, 60.0]))
    )
    for relay_s in (0.0, run_up_s + run_s):
        knock = noise.knock(rng, int(0.2 * sample_rate_hz), sample_rate_hz)
        noise.add(sound, int(relay_s * sample_rate_hz), rng.uniform(0.5, 3) * knock)
    vent = air_gun(rng, sample_rate_hz)
    noise.add(sound, int((run_up_s + run_s) * sample_rate_hz), rng.uniform(0, 2) * vent)
    return _peak_1(sound)


def grinder(rng: np.random.Generator, sample_rate_hz: int) -> Sound:
    """Run a grinder or drill up to 30 to 200 turns a second and let it run down; peak 1."""
    speed = _run(rng.uniform(0.2, 1.0), rng.uniform(0.3, 4.0), rng.uniform(0.5, 5.0), sample_rate_hz)
    sound = _turning(rng, rng.uniform(30, 200) * speed, int(rng.integers(3, 20)), sample_rate_hz) * speed
    sound += rng.uniform(0.05, 0.5) * speed**2 * noise.coloured(rng, len(speed), sample_rate_hz, 0.0)
    return _peak_1(sound)


def cranking(rng: np.random.Generator, sample_rate_hz: int) -> Sound:
    """Crank an engine: a starter's whine that labours at each of 4 to 10 compressions a second; peak 1."""
    speed = _run(0.05, rng.uniform(0.5, 3.0), rng.uniform(0.1, 0.5), sample_rate_hz)
    stroke = np.cumsum(rng.uniform(4, 10) * speed) / sample_rate_hz
    labour = 1 - rng.uniform(0.1, 0.3) * np.cos(2 * np.pi * stroke)
    whine = _turning(rng, rng.uniform(150, 600) * speed * labour, int(rng.integers(2, 6)), sample_rate_hz)
    thump = scipy.signal.sosfilt(
        scipy.signal.butter(2, rng.uniform(60, 300), fs=sample_rate_hz, output="sos"),
        noise.coloured(rng, len(speed), sample_rate_hz, 0.0),
    )
    thump *= np.maximum(0, -np.cos(2 * np.pi * stroke)) ** 4 / np.max(np.abs(thump))
    return _peak_1(speed * labour * (_peak_1(whine) + rng.uniform(0.5, 4) * thump))


def _hiss(rng: np.random.Generator, n: int, run_s: float, sample_rate_hz: int) -> Sound:
    time_s = np.arange(n) / sample_rate_hz
    opening = 1 - np.exp(-time_s / rng.uniform(0.001, 0.03))
    closing = np.exp(-np.maximum(0, time_s - run_s) / rng.uniform(0.01, 0.3))
    sos = scipy.signal.butter(1, rng.uniform(100, 2000), "highpass", fs=sample_rate_hz, output="sos")
    hiss = scipy.signal.sosfilt(sos, noise.coloured(rng, n, sample_rate_hz, 0.0))
    return _peak_1(opening * closing * hiss)


def _run(run_up_s: float, run_s: float, run_down_s: float, sample_rate_hz: int) -> Sound:
    """Speed of a motor from 0 over 1 to 0, with soft corners."""
    knots_s = np.cumsum([0, run_up_s, run_s, run_down_s])
    time_s = np.arange(int(knots_s[-1] * sample_rate_hz)) / sample_rate_hz
    speed = np.interp(time_s, knots_s, [0, 1, 1, 0])
    return np.asarray(np.sin(np.pi / 2 * speed))


def _turning(rng: np.random.Generator, turning_hz: Sound, n_harmonics: int, sample_rate_hz: int) -> Sound:
    """Sound of what turns at a changing rate: harmonics of it with random levels."""
    phase = 2 * np.pi * np.cumsum(turning_hz) / sample_rate_hz
    sound = np.zeros(len(phase))
    for number in range(1, n_harmonics + 1):
        sound += rng.uniform(0, 1) / number**0.5 * np.sin(number * phase + rng.uniform(0, 2 * np.pi))
    return sound


def _peak_1(sound: Sound) -> Sound:
    return np.asarray(sound / np.max(np.abs(sound)))
