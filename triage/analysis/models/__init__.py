"""The weights that ship with the product; docs/figures/vision.md says where they come from."""
