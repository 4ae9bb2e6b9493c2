"""The leg summary, spoken and written."""
