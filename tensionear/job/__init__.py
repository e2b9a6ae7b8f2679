"""The job: setups, passes, run-in, archive, and the record that proves it."""
