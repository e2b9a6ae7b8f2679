"""Sound in, fundamental frequency out. Pure functions on arrays: no device, file, thread or clock."""
