"""A survey in, a survey further on out: the only package that reads, computes and writes."""
