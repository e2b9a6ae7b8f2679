"""Sound of plucked belt spans from string physics, with known answers.

Nothing here is shared with the estimator under test: a span is a stiff strip of finite beam elements under
tension (`strip`), released by a finger of finite width and swinging with the tension that its own stretch
adds (`swing`), heard by a microphone through a room (`air`) among other sounds (`noise`). `scenes` puts it
together.
"""

from benchmarks.simulator.scenes import SCENES, PluckParameters, SimulatedPluck, draw_pluck

__all__ = ["SCENES", "PluckParameters", "SimulatedPluck", "draw_pluck"]
