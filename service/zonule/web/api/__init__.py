"""The programming interface under /api/v1: one file a kind of thing, typed models, problem details."""
