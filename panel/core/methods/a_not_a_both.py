"""A-not A test in which every taster gets a coded cup of each drink, in an order by lot.

As `a_not_a`, with two answers a taster: they are held together taster by taster (McNemar's exact
test). People are not told that there is one of each, or the second answer would follow from the
first; many guess it all the same, and the result says so.
"""

from panel.core.message import say
from panel.core.methods.a_not_a import KNOWN, asked_of, signs
from panel.core.methods.method import Detection
from panel.core.names import Aim

METHOD = Detection(
    id="a-not-a-both",
    name=say("A–not A test, both cups"),
    in_a_sentence=say("A known drink, then two cups, one after the other: is each that drink?"),
    instruction=say(
        "The first cup is A. Taste it until you know it. Then taste the other cups in their order "
        "and say of each whether it is A or not A. Both may be A, one or none."
    ),
    smelled=say(
        "The first cup is A. Smell it until you know it. Then smell the other cups in their order "
        "and say of each whether it is A or not A. Both may be A, one or none."
    ),
    when_to_use=say(
        "As the A–not A test with half the people: every taster answers about both drinks. But "
        "the second cup is tasted after the first, and who remembers it compares."
    ),
    beers=2,
    cups=3,
    aims=(Aim.DIFFERENCE,),
    references=(KNOWN,),
    right=say("said rightly of both cups whether they were A"),
    line="yes-no",
    paired=True,
    targets=say("cups that held A"),
    others=say("cups that held the other drink"),
    called=say("A"),
    orders=lambda _plan: ("AAB", "ABA"),
    decides=lambda _plan: asked_of((2, 3)),
    signs=signs,
)
