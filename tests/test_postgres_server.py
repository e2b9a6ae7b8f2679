"""The tests' own PostgreSQL server: it works with SQLAlchemy and psycopg, and nothing of it is left running."""

import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from sqlalchemy import create_engine, inspect, text
from sqlalchemy.pool import NullPool

from tests.needs import need
from tests.postgres_server import START_LIMIT_S, PostgresServer

ROOT = Path(__file__).parents[1]
START_AND_STAY = """
import signal
from tests.postgres_server import PostgresServer

with PostgresServer() as server:
    print(server.process_id, server.folder, flush=True)
    signal.pause()
"""


@pytest.mark.parametrize("turn", [1, 2])
def test_every_test_has_an_empty_database_that_knows_all_letters(postgres_url: str, turn: int) -> None:
    engine = create_engine(postgres_url, poolclass=NullPool)
    assert inspect(engine).get_table_names() == []
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE invented (name text)"))
        connection.execute(text("INSERT INTO invented VALUES (:name)"), {"name": "ŁÓDŹ Ωμέγα Ж"})
    with engine.connect() as connection:
        assert connection.execute(text("SELECT lower(name) FROM invented")).scalar_one() == "łódź ωμέγα ж"
        assert connection.dialect.driver == "psycopg"


def test_a_database_goes_even_if_a_test_forgets_its_connection(postgres_server: PostgresServer) -> None:
    name = postgres_server.new_database()
    engine = create_engine(postgres_server.url(name))
    forgotten = engine.connect()
    forgotten.execute(text("SELECT 1"))
    postgres_server.drop_database(name)
    forgotten.invalidate()
    forgotten.close()
    engine.dispose()


def test_it_needs_no_port_and_leaves_neither_process_nor_folder() -> None:
    need("PostgreSQL")
    with PostgresServer() as server:
        process_id, folder = server.process_id, server.folder
        engine = create_engine(server.url("postgres"), poolclass=NullPool)
        with engine.connect() as connection:
            assert connection.execute(text("SHOW listen_addresses")).scalar_one() == ""
    assert not is_running(process_id)
    assert not folder.exists()


def test_it_ends_when_the_tests_are_killed() -> None:
    need("PostgreSQL")
    owner = subprocess.Popen(
        [sys.executable, "-c", START_AND_STAY], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    with owner:
        assert owner.stdout is not None
        process_id, folder = owner.stdout.readline().split()
        assert is_running(int(process_id))
        owner.send_signal(signal.SIGKILL)
    deadline = time.monotonic() + START_LIMIT_S
    while is_running(int(process_id)):
        assert time.monotonic() < deadline
        time.sleep(0.05)
    shutil.rmtree(folder)


def is_running(process_id: int) -> bool:
    try:
        state = Path(f"/proc/{process_id}/stat").read_text("utf-8").rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state != "Z"  # it has ended, and nobody has asked for its exit code yet
