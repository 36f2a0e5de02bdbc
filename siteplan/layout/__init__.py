"""One file per loop type, and the header that joins the elements to the building."""
