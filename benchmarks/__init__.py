"""Measurements of how good the readings are; none of it is needed to use tensionear."""
