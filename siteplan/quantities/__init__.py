"""What has to be bought and dug."""
