"""Drills: practice made from passages, answers graded in batch, reports of what to practise."""
