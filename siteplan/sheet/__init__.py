"""The plan sheet as data: primitives, styles, scale, composition, tables."""
