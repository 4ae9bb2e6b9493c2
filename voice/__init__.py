"""legbook: the hands-free log of a transport leg with an external ventricular drain."""
