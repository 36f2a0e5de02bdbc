"""What would change the answer: rules, spacings, machines, figures."""
