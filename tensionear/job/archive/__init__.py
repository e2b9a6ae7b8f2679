"""The archive: all setups, jobs, sounds and records of a workshop in one database, SQLite or PostgreSQL.

It is opened with `tensionear.job.archive.opening.open_archive`. Nothing in it is overwritten: setups get versions,
jobs get entries in their log, what is deleted is marked. What can be computed from the logs is kept besides only to
be found fast (`jobs`, `pass_results`), and never read back as if it were the log.
"""
