"""The versions of the archive's schema, run by alembic."""
