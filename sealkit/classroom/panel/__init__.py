"""Live panels: what they show, and how."""
