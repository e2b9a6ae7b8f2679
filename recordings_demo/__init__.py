"""An invented job as recordings with known answers; nothing in it is a real engine, belt or specification."""
