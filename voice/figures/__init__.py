"""Pure arithmetic on a leg."""
