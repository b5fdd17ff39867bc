"""The way through a job: route, guards, detours, hand-over, choosing a job."""
