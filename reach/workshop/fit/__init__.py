"""Fitting a movement profile to a recording: stretches, bands, rates, and what was never exercised."""
