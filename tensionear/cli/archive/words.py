"""How much is in an archive, in words."""

from collections.abc import Mapping


def counted(n: int, one: str, more: str = "") -> str:
    """Say how many there are: "1 job", "2 jobs"."""
    return f"{n} {one if n == 1 else more or f'{one}s'}"


def held(n_rows: Mapping[str, int]) -> str:
    """Say what an archive holds, by the number of rows in each table."""
    return ", ".join(
        (
            counted(n_rows["jobs"], "job"),
            counted(n_rows["setups"], "setup"),
            counted(n_rows["contents"], "sound or photo", "sounds and photos"),
            counted(n_rows["records"], "record"),
        )
    )
