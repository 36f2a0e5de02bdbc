"""What ground there is: keep-outs, street, machines."""
