"""What the hand camera heard and saw. How a sentence is marked is told in ``parts.py``."""

from __future__ import annotations

from parts import ClipScript, Fact, Owed, Say, Walk

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
            claims=(Fact("period", "Queen Victoria", 1837, 1901, "penny"),),
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
                    "until nineteen seventy-five",
                    None,
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
