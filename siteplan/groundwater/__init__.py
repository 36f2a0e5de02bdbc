"""Water and heat that flow in an aquifer between wells: pure figures, no lot and no rule."""
