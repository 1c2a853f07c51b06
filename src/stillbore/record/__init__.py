"""The log of a job: event types, canonical JSON, chains of hashes, verification.

It knows nothing of what a step means; ``run`` does.
"""
