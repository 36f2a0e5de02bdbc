"""One loop type after another laid out, judged and compared."""
