"""The weights that ship with the product; docs/vision.md says where they come from."""
