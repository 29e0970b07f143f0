"""What many sweeps say together: how well a shop measures, who is to blame, which dowels to keep."""
