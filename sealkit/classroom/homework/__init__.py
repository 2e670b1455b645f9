"""Questions, cards, answers and grading."""
