"""Studies: many variants of one scene, which of them fit, and why the others do not."""
