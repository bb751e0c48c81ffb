"""What the chest camera heard and saw. How a sentence is marked is told in ``parts.py``."""

from __future__ import annotations

from parts import ClipScript, Fact, Owed, Say, Walk

CHEST_FIRST = ClipScript(
    file="chest/CHST0041.MP4",
    camera="chest",
    starts="09:36:12",
    shore="channel",
    noise="wind",
    parts=(
        Walk(2.0),
        Say("Morning, everyone, and welcome to Skelby Sands."),
        Say("It's Maud, and we've got about two hours before the tide turns."),
        Say(
            "I'm really hoping for a {clay pipe bowl|pipe bowl|hoped} today, because, um, last time all I got was mud."
        ),
        Walk(5.5),
        Say("Hang on.", 0.95, find="1", shows="pipe bowl"),
        Say("What's this?", find="1", shows="pipe bowl", pause=1.1),
        Say("There's something white sticking out, just there.", find="1", shows="pipe bowl"),
        Say("Oh, look at that!", 1.06, find="1", shows="pipe bowl", near=True),
        Say("It's a {clay pipe bowl|pipe bowl|found}, and it's whole.", find="1", shows="pipe bowl", near=True),
        Say(
            "It's a tiny thing, like a little {thimble|thimble|compared}.",
            find="1",
            shows="pipe bowl",
            near=True,
        ),
        Say(
            "There's no {stem|pipe stem|absent} on it, that snapped off long ago.",
            find="1",
            shows="pipe bowl",
            near=True,
        ),
        Say(
            "The small ones are late seventeenth century, because, well, tobacco was dear.",
            find="1",
            shows="pipe bowl",
            near=True,
            claims=(Fact("date", "late seventeenth century", 1667, 1700, "pipe bowl"),),
        ),
        Walk(3.5),
        Say(
            "And here's a length of {pipe stem|pipe stem|found}, but, no, it doesn't join.",
            find="2",
            shows="pipe stem",
            near=True,
        ),
        Walk(5.0),
        Say("Right, what have we got here?", find="3", shows="creamware"),
        Say("Um, a bit of a rim, sort of buttery yellow.", 0.94, find="3", shows="creamware", near=True),
        Say("That's {creamware|creamware|found}, that is.", find="3", shows="creamware", near=True),
        Say(
            "Josiah Wedgwood got {creamware|creamware|aside} right in seventeen sixty-two.",
            find="3",
            shows="creamware",
            near=True,
            claims=(
                Fact(
                    "date",
                    "seventeen sixty-two",
                    1762,
                    1762,
                    "creamware",
                    "supported",
                    "Wedgwood's creamware is dated to 1762.",
                    "Miller 2015, common creamware plate patterns (Jefferson Patterson Park and Museum)",
                ),
            ),
        ),
        Walk(6.0),
        Say("Ooh, that's heavy.", 1.04, find="4", shows="musket ball"),
        Say(
            "It's grey, it's round, and it's lead.",
            find="4",
            shows="musket ball",
            near=True,
            claims=(Fact("material", "it's lead", about="musket ball"),),
        ),
        Say("That's a {musket ball|musket ball|found}, no doubt about it.", find="4", shows="musket ball", near=True),
        Say(
            "People always want it to be Civil War, but you can't pin down a date from lead alone.",
            find="4",
            shows="musket ball",
            near=True,
            pause=0.5,
        ),
        Walk(3.0),
    ),
)

CHEST_SECOND = ClipScript(
    file="chest/CHST0042.MP4",
    camera="chest",
    starts="10:19:40",
    shore="sea wall",
    noise="boat",
    parts=(
        Walk(4.0),
        Say(
            "Right, I'm under the sea wall now, where the old tip washes out, "
            "so mind the broken glass if you ever come here."
        ),
        Say("Here's something brown and shiny, um, and it's looking at me.", find="9", shows="bellarmine"),
        Say(
            "That's a face, that's a beard, it's a {Bellarmine|Bellarmine jar|found}!",
            1.05,
            find="9",
            shows="bellarmine",
            near=True,
        ),
        Say(
            "They came over from Germany, from Frechen, that's near Cologne.",
            find="9",
            shows="bellarmine",
            near=True,
            claims=(Fact("origin", "from Germany, from Frechen", about="Bellarmine jar"),),
        ),
        Say(
            "And that goes with this {Westerwald|Westerwald stoneware|earlier}, the blue and grey one, "
            "that I had from here last week.",
            find="B",
            shows="westerwald",
            near=True,
        ),
        Walk(5.0),
        Say(
            "Um, that's just {peg tile|peg tile|found}, you can see the hole in it.",
            find="C",
            shows="peg tile",
            near=True,
        ),
        Say("I'll leave that where it is."),
        Walk(4.5),
        Say("Ooh, thick green glass.", find="10", shows="codd bottle"),
        Say(
            "It's got two pinches in the neck, so it's a {Codd bottle|Codd bottle|found}.",
            find="10",
            shows="codd bottle",
            near=True,
        ),
        Say(
            "And the {marble|marble|found}'s still in it, listen to that!",
            1.05,
            find="10",
            shows="codd bottle",
            near=True,
        ),
        Say(
            "Hiram Codd took out his patent for the {Codd bottle|Codd bottle|aside} in eighteen twenty-two.",
            find="10",
            shows="codd bottle",
            near=True,
            claims=(
                Fact(
                    "date",
                    "eighteen twenty-two",
                    1822,
                    1822,
                    "Codd bottle",
                    "contradicted",
                    "Planted. Codd was born in 1838; his first British patent is of 24 November 1870.",
                    "Lockhart, Zang mystery Codd bottle; Munsey 2010, Codd bottles",
                ),
            ),
        ),
        Say(
            "It says Orme and Tuttle, Thesselmouth, and they were the biggest mineral water makers on this coast.",
            find="10",
            shows="codd bottle",
            near=True,
            claims=(
                Fact(
                    "maker",
                    "Orme and Tuttle, Thesselmouth",
                    about="Codd bottle",
                    verdict="unreferenced",
                    why="An invented firm: no record can hold it.",
                ),
                Fact(
                    "superlative",
                    "the biggest mineral water makers on this coast",
                    verdict="unreferenced",
                    why="An invented firm: no record can hold it.",
                ),
            ),
        ),
        Say(
            "I'll put a link below to everything I know about them.",
            find="10",
            shows="codd bottle",
            near=True,
            promise=Owed("link", "everything about Orme and Tuttle"),
        ),
        Walk(6.0),
        Say("And now, what's this, with blue on it?", find="11", shows="pearlware"),
        Say(
            "It's {transfer print|transfer-printed ware|found}, on {pearlware|pearlware|found}, "
            "with a bit of a bridge.",
            find="11",
            shows="pearlware",
            near=True,
        ),
        Say(
            "{Pearlware|pearlware|aside} is all eighteenth century.",
            find="11",
            shows="pearlware",
            near=True,
            claims=(
                Fact(
                    "date",
                    "eighteenth century",
                    1701,
                    1800,
                    "pearlware",
                    "imprecise",
                    "Planted. Made from about 1780 to 1830: the claim overlaps and is shifted.",
                    "Curtin Archaeological Consulting, 8 November 2010; South 1977, type 20",
                ),
            ),
        ),
        Say(
            "This pattern looks more like the eighteen twenties to me, though.",
            find="11",
            shows="pearlware",
            near=True,
            claims=(Fact("date", "the eighteen twenties", 1820, 1829, "pearlware"),),
        ),
        Walk(4.0),
        Say("Last one here, and it's a {buckle|buckle|found}.", find="12", shows="buckle", near=True),
        Say(
            "It's curved, so that's a {shoe buckle|shoe buckle|found}, probably Georgian.",
            find="12",
            shows="buckle",
            near=True,
            claims=(Fact("period", "Georgian", 1714, 1830, "shoe buckle"),),
        ),
        Walk(3.0),
    ),
)
