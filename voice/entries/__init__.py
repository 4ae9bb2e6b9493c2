"""What is kept: the frozen types that pass between the stages, and nothing that acts."""
