"""What a sheet has to show, before it is drawn."""
