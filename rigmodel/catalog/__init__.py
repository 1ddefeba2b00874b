"""Parts, sub-assemblies, tyres and tractors by id: what may be in a catalogue, and how it is read.

The built-in files in `data/` hold generic sizes in round numbers; ids are plain trade words with
the size behind them, such as ``tube-2x3-16`` (2 in square, 3/16 in wall) or ``shank-straight-26``.
A user's files extend them and may replace any entry by its id.
"""
