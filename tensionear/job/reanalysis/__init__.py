"""Re-analysis: what the estimator of this program makes of sound that was read before, and what that changes."""
