"""Whether a scan is good: what is measured on its pixels, within which limits, and what follows.

Each measuring function is a pure function of arrays. `measures.py` puts them together for one file; `findings.py`
compares what was measured with `limits.py`. Nothing here writes to a scan.
"""
