"""The pure core: everything that must be true.

Law of this floor: standard library only (`statistics` alone also numpy and scipy); no clock, no
unseeded random, no environment, no files. What it needs comes in as arguments, what it says
goes out as frozen values and messages.
"""
