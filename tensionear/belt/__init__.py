"""Fundamental in, static tension out: string physics, the span, the tolerance band. Pure."""
