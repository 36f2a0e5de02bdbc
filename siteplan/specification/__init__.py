"""What is to be built and how: clauses of the specification, the order of work, its holds."""
