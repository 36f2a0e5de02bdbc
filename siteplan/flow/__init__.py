"""Fluid, friction and pumping in the pipes of a closed loop."""
