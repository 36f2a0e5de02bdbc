"""A second opinion on a layout, from raw geometry: knows neither the engines nor their areas."""
