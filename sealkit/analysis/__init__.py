"""From a build sheet to numbers: gas side, clamp side, joint, limits, deck map."""
