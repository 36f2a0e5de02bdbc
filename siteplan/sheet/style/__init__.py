"""What ink looks like: styles, letters, signs, papers, forms of numbers."""
