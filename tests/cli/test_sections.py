"""Help in sections."""

from tests.cli.command import Tensionear


def test_the_help_of_readings_lists_every_option_in_one_section(tensionear: Tensionear) -> None:
    told = tensionear("listen", "--help").out
    headings = [
        "Options:",
        "Span and belt:",
        "What is specified, or an earlier job:",
        "Deciding and telling:",
    ]
    places = [told.index(f"\n{heading}\n") for heading in headings]
    assert places == sorted(places)
    own, span, specified, deciding = (
        told[first:last] for first, last in zip(places, [*places[1:], len(told)], strict=True)
    )
    for section, options in (
        (own, ("--device", "--plucks", "--json", "--picture", "--help")),
        (span, ("--span-length-mm", "--calibration", "--flexible")),
        (specified, ("--band-hz", "--source", "--baseline-job")),
        (deciding, ("--decision-rule", "--budget", "--tell-in")),
    ):
        for option in options:
            assert f"\n  {option} " in section or f", {option} " in section
