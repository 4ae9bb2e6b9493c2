"""What the commands need beyond the stages: the demo, the doctor, what is shown and how."""
