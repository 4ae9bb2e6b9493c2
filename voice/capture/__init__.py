"""Where sound enters and leaves the program: the only place that imports sounddevice."""
