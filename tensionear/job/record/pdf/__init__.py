"""The record as a PDF: what it says, and how it is laid out."""
