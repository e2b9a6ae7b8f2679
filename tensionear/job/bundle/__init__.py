"""The bundle that carries a record: its container, its seal, its signature."""
