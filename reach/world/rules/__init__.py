"""The rules of a world, one module each: each looks at the evidence about a world and returns findings."""
