"""Whether a bundle is what it was, and whether its figures follow from its sound."""
