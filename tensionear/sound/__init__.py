"""Where sound comes from: microphones and recordings, all as blocks on one absolute sample clock."""
