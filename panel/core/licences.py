"""Under which licence a guild publishes its data: those for data that the Open Definition lists."""

DEFAULT = "CC-BY-4.0"

LICENCES = {
    "CC-BY-4.0": (
        "Creative Commons Attribution 4.0",
        "https://creativecommons.org/licenses/by/4.0/",
    ),
    "CC-BY-SA-4.0": (
        "Creative Commons Attribution Share-Alike 4.0",
        "https://creativecommons.org/licenses/by-sa/4.0/",
    ),
    "CC0-1.0": (
        "CC0 1.0: no rights reserved",
        "https://creativecommons.org/publicdomain/zero/1.0/",
    ),
    "ODbL-1.0": (
        "Open Data Commons Open Database License 1.0",
        "https://opendatacommons.org/licenses/odbl/1-0/",
    ),
}
"""Name (as the Open Definition writes it) to title and address."""
