"""Gas side: geometry, charge, fuels, ideal cycles, the real cycle and its variation."""
