"""Words to meaning and back: the grammar, its parser, the decision, the read-back."""
