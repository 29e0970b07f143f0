"""A sweep while it is made, typed or watched again; tapping; and the page of what came of it."""
