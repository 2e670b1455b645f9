"""Charts, panels and lessons. This floor computes nothing: it shows what the floors below say."""
