"""The words of the day: what is said, shown and left unsaid, clip by clip.

A sentence carries its own gold: ``{words said|term|stance}`` marks a mention. ``shows`` names the
drawing on screen; ``near`` holds it close to the lens. ``find`` is the log number in hand, or a
letter for an object that never reached the log.
"""

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

HAND_FIRST = ClipScript(
    file="hand/MH_20260503_100018.mp4",
    camera="hand",
    starts="09:58:34",
    shore="jetty",
    noise="birds",
    parts=(
        Walk(3.0),
        Say("So, I've walked round to the old jetty, and, um, it's all little things here."),
        Say("I've got something flat, and it's folded over.", find="5", shows="cloth seal"),
        Say("Is it a {button|button|unsure}?", 0.95, find="5", shows="cloth seal", near=True, pause=0.9),
        Say("No, it's a {cloth seal|cloth seal|found}!", 1.05, find="5", shows="cloth seal", near=True),
        Say(
            "{Cloth seals|cloth seal|aside} went on every length to show that the tax had been paid.",
            find="5",
            shows="cloth seal",
            near=True,
        ),
        Say(
            "I can see a lion, so I'd say sixteen hundreds, maybe three hundred and fifty years old.",
            find="5",
            shows="cloth seal",
            near=True,
            claims=(
                Fact("date", "sixteen hundreds", 1600, 1699, "cloth seal"),
                Fact("date", "three hundred and fifty years old", 1676, 1676, "cloth seal"),
            ),
        ),
        Walk(3.5),
        Say("Oh, and {pins|pin|found}!", find="6", shows="pins"),
        Say("One, two, three, four, five {pins|pin|found}, all in a clump.", 0.96, find="6", shows="pins", near=True),
        Say(
            "And this rolled up little tube is an {aglet|aglet|found}, off the end of a bootlace.",
            find="A",
            shows="aglet",
            near=True,
        ),
        Walk(6.5),
        Say("Now then, what are you?", find="7", shows="thimble"),
        Say("It's squashed flat, and it's got dimples all over it.", find="7", shows="thimble", near=True),
        Say(
            "It's a {thimble|thimble|found}, copper alloy, and somebody trod on it.",
            find="7",
            shows="thimble",
            near=True,
            claims=(Fact("material", "copper alloy", about="thimble"),),
        ),
        Walk(8.0),
        Say("Oh my goodness.", 0.92, find="8", shows="sixpence", pause=1.2),
        Say("I was not expecting this.", 0.97, find="8", shows="sixpence"),
        Say(
            "It's silver, and it's thin as paper.",
            find="8",
            shows="sixpence",
            near=True,
            claims=(Fact("material", "It's silver", about="sixpence"),),
        ),
        Say(
            "That's a {hammered|hammered coin|found} {sixpence|sixpence|found}, Elizabeth the First!",
            1.04,
            find="8",
            shows="sixpence",
            near=True,
            claims=(Fact("period", "Elizabeth the First", 1558, 1603, "sixpence"),),
        ),
        Say(
            "There's the rose behind her head, and the date, fifteen seventy-eight.",
            find="8",
            shows="sixpence",
            near=True,
            claims=(Fact("date", "fifteen seventy-eight", 1578, 1578, "sixpence"),),
        ),
        Say(
            "So this {coin|coin|found} is more than four hundred years old, "
            "and it's the oldest thing I have ever found on this river.",
            find="8",
            shows="sixpence",
            near=True,
            claims=(
                Fact("date", "more than four hundred years old", None, 1626, "coin"),
                Fact("superlative", "the oldest thing I have ever found on this river"),
            ),
        ),
        Say(
            "I'll be reporting this one to the finds officer, and I'll put how you do that in the description.",
            find="8",
            shows="sixpence",
            near=True,
            promise=Owed("detail", "how to report a find to the finds officer"),
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
                    "period",
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

HAND_SECOND = ClipScript(
    file="hand/MH_20260503_104627.mp4",
    camera="hand",
    starts="10:44:43",
    shore="car park",
    noise="birds",
    parts=(
        Walk(3.0),
        Say("So I'm back at the car, with, um, with some tea, and I've two more to show you."),
        Say(
            "First, a {penny|penny|found}, Queen Victoria, with the bun in her hair.",
            find="13",
            shows="penny",
            near=True,
        ),
        Say(
            "And it says eighteen seventy.",
            find="13",
            shows="penny",
            near=True,
            claims=(Fact("date", "eighteen seventy", 1870, 1870, "penny"),),
        ),
        Say(
            "The bronze {penny|penny|aside} came in in eighteen sixty, "
            "and you could spend one until nineteen seventy-five.",
            find="13",
            shows="penny",
            near=True,
            claims=(
                Fact(
                    "date",
                    "eighteen sixty",
                    1860,
                    1860,
                    "penny",
                    "supported",
                    "The bronze penny came in 1860.",
                    "UK coins table, retrowow.co.uk",
                ),
                Fact(
                    "date",
                    "nineteen seventy-five",
                    1975,
                    1975,
                    "penny",
                    "contradicted",
                    "Planted. The old penny ceased to be legal tender after 31 August 1971.",
                    "Barwick-in-Elmet Historical Society, The Barwicker 127",
                ),
            ),
        ),
        Say("And then there's this thing.", 0.95, find="14", shows="bone handle", pause=1.1),
        Say(
            "It's bone, it's long, and I honestly don't know.",
            find="14",
            shows="bone handle",
            near=True,
            claims=(Fact("material", "It's bone"),),
        ),
        Say("Could it be a {toothbrush handle|toothbrush|unsure}?", find="14", shows="bone handle", near=True),
        Say(
            "There are no holes for the bristles, so, if you know what it is, let me know in the comments.",
            find="14",
            shows="bone handle",
            near=True,
            promise=Owed("question", "what the bone handle is"),
        ),
        Walk(3.0),
        Say(
            "So, that was the day, we had the {pipe bowl|pipe bowl|recap}, the {musket ball|musket ball|recap}, "
            "the {cloth seal|cloth seal|recap}, and the squashed {thimble|thimble|recap}.",
            shows="tray",
        ),
        Say(
            "Then the {Bellarmine|Bellarmine jar|recap}, the {Codd bottle|Codd bottle|recap}, and, my favourite, "
            "the {sixpence|sixpence|recap}.",
            shows="tray",
        ),
        Say(
            "There was a ferry over the Thessel, they say, as early as sixteen fifty, "
            "so no wonder people dropped things.",
            claims=(
                Fact(
                    "date",
                    "as early as sixteen fifty",
                    1650,
                    1650,
                    None,
                    "unreferenced",
                    "An invented place: no record can hold it.",
                ),
            ),
        ),
        Say(
            "A big thank you to Quillsand Waders, who sponsored today, and who gave me this pair.",
            promise=Owed("sponsor", "Quillsand Waders sponsored the day and gave a pair of waders"),
        ),
        Say("And thank you to Dilys, for the lift.", promise=Owed("thanks", "Dilys, for the lift")),
        Say(
            "Next week I'm over on the north shore, so come back for that, and watch the tide.",
            promise=Owed("callback", "the north shore, next week"),
        ),
        Say("Bye for now!"),
        Walk(2.5),
    ),
)

CLIPS = (CHEST_FIRST, HAND_FIRST, CHEST_SECOND, HAND_SECOND)

CLOCKS = {"chest": 3623.0, "hand": -104.0}
"""Seconds to add to a camera's time to get the log's time: winter time and 23 s slow; 104 s fast."""

CALLED = {"8": "sixpence", "12": "shoe buckle"}
"""The closest term, where a find is first named by a wider one."""

LOGGED_NOT_FILMED = ("15", "16")

PRONOUNCED = {
    "Thessel": "θˈɛsᵊl",
    "Thesselmouth": "θˈɛsᵊlməθ",
    "Skelby": "skˈɛlbi",
    "aglet": "ˈæɡlət",
    "Westerwald": "vˈɛstəɹvˌɑlt",
    "Bellarmine": "bˈɛləɹmˌin",
    "Frechen": "fɹˈɛʃən",
    "Hiram": "hˈIɹəm",
    "Victoria": "vɪktˈɔɹiə",
}
"""How a person says what the synthesiser would misread, in its own phone letters."""
