"""The record of a job: what was given and what was found, as a document, a table and a bundle."""
