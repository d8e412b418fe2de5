"""The makers: one skill a module; each proposes drafts, which `build` turns into items."""
