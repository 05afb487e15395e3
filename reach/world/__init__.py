"""A world: levels joined by links, checked from every entrance that can be reached, and judged as a whole."""
