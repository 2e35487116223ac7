"""README.txt of the bundle: what it is, how to check it, what is left out."""

from panel.core.allocation.seal import seal_text
from panel.core.comparison import Comparison
from panel.core.result import Result
from panel.publishing.bundle_columns import SMALLEST_GROUP

README = """\
{title}
{line}
{organised}A test in which people tasted {drink} from cups that bore codes only. Here is all that
was counted, and everything needed to check that nobody exchanged a cup or an order afterwards.

{sealed}
{seal}

Check it
  * By eye: compare the seal above with the poster, or with the foot of a card.
  * With any computer: sha256sum sealed.json gives the seal.
  * With Panel: panel check bundle.zip --seal "the seal from the poster"
  * Without Panel: verify.py and draw.py, which come with Panel's documents, are short scripts that
    need nothing but Python. python draw.py < draw/SITTING.json deals a sitting's trays once more.

What is here
  findings.json    the result, numbers and sentences
  ballots.csv      every tray of which a ballot came in, once
  trays.csv        every tray that was drawn, and what became of it
  cups.csv         every cup: tray, position, code, and what it held
  late.csv         ballots that came after their sitting had closed; not counted
  plan.json        the plan as it was sealed
  sealed.json      plan, key and secret as they were sealed, byte for byte
  comparison.json  the seal and the sittings, with their times
  amendments.json  what was changed after sealing
  records.json     the hash chain of what was done
  draw/            what each sitting's draw follows from
  datapackage.json every file with its SHA-256, every column with its meaning

What is not here
  No names, no moments of single ballots, and no free words unless the organiser chose to give
  them. Where fewer than {smallest} tasters of a sitting count alike and said the same of what they
  knew, their side answers are left out.

Licence of these data: {licence}
"""


def readme(comparison: Comparison, result: Result, licence: str) -> str:
    """The text, in English like the names of the columns."""
    title = comparison.title
    organised = f"By {comparison.organised_by}.\n" if comparison.organised_by else ""
    digest = result.seal.digest if result.seal else ""
    in_time = result.seal is not None and result.seal.before_serving
    half = len(seal_text(digest)) // 2
    return README.format(
        title=title,
        line="=" * len(title),
        organised=organised,
        drink=comparison.drink,
        sealed="The seal, made before the first sitting opened:"
        if in_time
        else "The seal, made only after a sitting had opened:",
        seal=f"  {seal_text(digest)[:half].strip()}\n  {seal_text(digest)[half:].strip()}",
        smallest=SMALLEST_GROUP,
        licence=licence,
    )
