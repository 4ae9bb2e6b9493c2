"""Many crews: legs that are over, sent into a programme's PostgreSQL, and a report across them."""
