"""The cautions themselves: one line each, with its source, its date and where it applies.

Protective advice is given whether or not a source was read. A date, a limit or a law is given only where
its source was: `status` says which. Lines are reminders in our own words, for the United States unless
`where` says otherwise; local codes may be stricter everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

CONFIRMED = "source read"
GENERAL = "general advice, no source read"
PRACTICE = "common practice, no source"

US = "United States (federal); local codes may be stricter"
ANYWHERE = "anywhere; local codes may be stricter"


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution. `dated` is the date of the rule or of its source, empty where none was confirmed.

    `buyer` is the same said to a buyer, for the price tag and the listing; empty where it is none of
    their concern. `status` is CONFIRMED, GENERAL or PRACTICE.
    """

    key: str
    title: str
    line: str
    source: str
    dated: str
    where: str
    status: str
    buyer: str = ""

    def cited(self, *, whole: bool = False) -> str:
        """Source, date and place in a few words; `whole` adds the status and that local codes may be stricter."""
        place = self.where if whole else self.where.partition(";")[0]
        status = [self.status] if whole and self.status == CONFIRMED else []
        source = self.source if self.status == CONFIRMED else self.status
        return "; ".join(p for p in (source, self.dated, *status, place) if p)

    def __str__(self) -> str:
        return f"{self.title}: {self.line} [{self.cited(whole=True)}]"


_ALL = (
    Caution(
        "lead_paint",
        "Lead paint",
        "Old paint may contain lead. Do not dry-sand, scrape, heat or strip it: keep children and food away, have "
        "it tested by a certified laboratory, and leave lead paint to someone licensed for it.",
        "general guidance of health and safety agencies",
        "",
        ANYWHERE,
        GENERAL,
        buyer="Old paint, if any is under the finish, may contain lead: do not sand or scrape it.",
    ),
    Caution(
        "lead_rule",
        "Lead paint, the rule",
        "US ban for furniture made after 27 Feb 1978: paint above 0.009% lead since 14 Aug 2009, 0.06% before. "
        "That date makes no older piece safe: those are where lead is likeliest.",
        "16 CFR 1303.1 and 1303.4; 73 FR 77492",
        "27 Feb 1978 and 14 Aug 2009",
        US,
        CONFIRMED,
    ),
    Caution(
        "lead_swab",
        "Lead paint, home tests",
        'A home swab that says "no lead" is no proof: in a test by the US product safety commission 56 of 104 '
        "results missed lead that was there, and no kit found it consistently under a lead-free coat.",
        "CPSC staff study of home lead test kits, release of 22 Oct 2007, read as reprinted",
        "22 Oct 2007",
        ANYWHERE,
        CONFIRMED,
    ),
    Caution(
        "new_paint",
        "Paint you put on",
        "New paint on a piece must itself be within 0.009% lead (90 parts per million): use paint sold for "
        "furniture today, never an old can.",
        "16 CFR 1303.1",
        "14 Aug 2009",
        US,
        CONFIRMED,
    ),
    Caution(
        "tip_over",
        "Tip-over",
        "A piece like this can tip over and kill a child: fit an anti-tip kit that fixes it to the wall, hand the "
        "kit over with the piece, and say so in the listing.",
        "CPSC guidance on clothing storage units",
        "",
        ANYWHERE,
        CONFIRMED,
        buyer="Can tip over: fix it to the wall with an anti-tip kit before use.",
    ),
    Caution(
        "tip_rule",
        "Tip-over, the rule",
        "US stability rule for free-standing clothing storage made after 1 Sep 2023: 27 in or higher, 30 lb or "
        "heavier, 3.2 cubic feet or more inside. Older pieces are outside the rule and tip just the same.",
        "16 CFR 1261; 88 FR 28403; ASTM F2057-23; 15 USC 2056f",
        "1 Sep 2023",
        US,
        CONFIRMED,
    ),
    Caution(
        "stability",
        "Tip-over, after your work",
        "Taking out weight, drawer stops or the back, or adding casters, changes how a piece stands: check it again "
        "with every drawer open.",
        "common practice",
        "",
        ANYWHERE,
        PRACTICE,
    ),
    Caution(
        "crib",
        "Cribs",
        "Never sell, give away or convert a crib that does not meet the US rule in force since 28 Jun 2011, used ones "
        "included. A traditional drop-side cannot meet it, and age cannot be judged by eye.",
        "16 CFR 1219 and 1220; 75 FR 81766; CPSIA section 104(c)",
        "28 Jun 2011",
        US,
        CONFIRMED,
    ),
    Caution(
        "nursery",
        "Nursery pieces",
        "Whoever resells need not test in a laboratory but may not knowingly sell what breaks a rule: a wobbly "
        "nursery piece, or one with parts missing, goes in the bin.",
        "CPSC questions and answers for resellers",
        "",
        US,
        CONFIRMED,
    ),
    Caution(
        "recall",
        "Recalls",
        "Selling a recalled item is unlawful, voluntary recalls and used goods included: search the recalls of the "
        "CPSC before you buy a piece and again before you list it.",
        "15 USC 2068; CPSA section 19(a)(2)(B)-(C), added by CPSIA",
        "2008",
        US,
        CONFIRMED,
    ),
    Caution(
        "reupholstery",
        "Re-covered seats",
        "Seats made or re-covered on or after 25 Jun 2021 must meet TB 117-2013, with a permanent label from "
        "25 Jun 2022; untouched older ones are outside it. If you re-cover a seat, ask about the label duty.",
        "16 CFR 1640; 86 FR 18440; CPSC guidance",
        "25 Jun 2021 and 25 Jun 2022",
        US,
        CONFIRMED,
    ),
    Caution(
        "stuffed_goods",
        "Stuffed goods and bedding",
        "Rules on labels for stuffed goods and on used bedding differ from state to state: find out yours before you "
        "re-cover or sell any, and leave mattresses alone until you know.",
        "general guidance; state rules vary",
        "",
        ANYWHERE,
        GENERAL,
    ),
    Caution(
        "stripper",
        "Paint stripper",
        "No stripper with methylene chloride (dichloromethane), old cans included: it has killed. Barred for home use "
        "in 2019; a 2024 rule bars retail sale and most use for pay. Read the rule as it stands today.",
        "40 CFR 751 subpart B; 84 FR 11420 (2019); 89 FR 39254 (in effect 8 Jul 2024)",
        "8 Jul 2024; the amendment of 13 Nov 2025 (90 FR 50894) concerns laboratories only",
        US,
        CONFIRMED,
    ),
    Caution(
        "stripper_historic",
        "Paint stripper on pieces of historic value",
        "A section of the same rule on wooden furniture of historic value is no licence: it asks for a marked-off "
        "area, exhaust to the outside, supplied-air respirators and records. Leave it to a shop that has them.",
        "40 CFR 751.117; 89 FR 39302",
        "8 Jul 2024",
        US,
        CONFIRMED,
    ),
    Caution(
        "oily_rags",
        "Rags",
        "Rags wet with oil finish can catch fire by themselves: spread them out singly outdoors to dry, never in a "
        "pile, then into a metal can with water, detergent and a tight lid.",
        'NFPA tip sheet "Safety with Oily Rags"',
        "2017",
        ANYWHERE,
        CONFIRMED,
    ),
    Caution(
        "other_rags",
        "Rags of water-based finishes",
        "Fire guidance says that water-based finishes do not heat up. Some hold oils that dry, and labels are lost: "
        "treat every rag as an oily one all the same.",
        "our own caution",
        "",
        ANYWHERE,
        PRACTICE,
    ),
    Caution(
        "spraying",
        "Spraying and waste",
        "Spray only where it is ventilated and nothing can ignite it, and clear overspray; put finish-soaked waste in "
        "an approved metal can at once and empty it at least daily.",
        "29 CFR 1910.107(g), read as mirrored in WAC 296-24-37013; 1910.94",
        "",
        "workplaces, " + US,
        CONFIRMED,
    ),
    Caution(
        "respirator",
        "Breathing",
        "A dust mask does not stop vapour: read the safety data sheet of each product and wear what it names, fitted "
        "to your face; if anyone works for you, ask what the law wants of you.",
        "general guidance of health and safety agencies",
        "",
        ANYWHERE,
        GENERAL,
    ),
    Caution(
        "glass",
        "Glass",
        "Old glass in doors, tops and mirrors is often not safety glass: tape and pack it, tell the buyer, and have "
        "cracked glass replaced.",
        "general advice",
        "",
        ANYWHERE,
        GENERAL,
        buyer="Old glass may not be safety glass: handle with care.",
    ),
    Caution(
        "borders",
        "Borders",
        "Rosewood (Dalbergia) can need papers to cross a border, and may be stopped without; small amounts in a "
        "finished piece may be let off. Ask your own authority before you sell or ship abroad.",
        "general advice",
        "",
        ANYWHERE,
        GENERAL,
        buyer="This wood can need papers to cross a border: ask before taking it abroad.",
    ),
    Caution(
        "inspection",
        "Before it comes in",
        "Look for bed bugs, mould and mothballs, old wiring, and backings of board or mirror that may hold asbestos "
        "or mercury: leave such backings alone, and tell the buyer what you found.",
        "common practice",
        "",
        ANYWHERE,
        PRACTICE,
    ),
    Caution(
        "latching",
        "Chests and boxes with a lid",
        "Children have climbed into lidded chests that latch by themselves and suffocated: take the latch or lock off "
        "before it is in anyone's reach, fit a support that holds the lid open, and look up the recalls.",
        "CPSC release on cedar chests, 27 May 2020, and its warning on storage chests of 2014, read as reprinted",
        "2014 and 27 May 2020",
        ANYWHERE,
        CONFIRMED,
        buyer="Under a lid no latch or lock may close by itself: a child can be trapped.",
    ),
    Caution(
        "dust",
        "Dust",
        "Sanding dust harms the lungs, and the dust of some hardwoods can cause cancer: catch it at the tool, wear a "
        "fitted respirator, clean by wiping or with a fine-filter vacuum. Never blow the dust of old paint about.",
        "California health hazard fact sheet on wood dust, Nov 2016, read as reprinted",
        "Nov 2016",
        ANYWHERE,
        CONFIRMED,
    ),
    Caution(
        "two_part",
        "Two-part fillers and finishes",
        "Hardeners of two-part finishes can hold isocyanates, which can bring on asthma for life through breath and "
        "skin; two-part fillers can irritate too. Read the data sheet; do not spray them without supplied air.",
        "US occupational safety emphasis programme on isocyanates, 2013, read as reported",
        "2013",
        ANYWHERE,
        CONFIRMED,
    ),
    Caution(
        "caustic",
        "Caustics and bleaches",
        "Lye, two-part wood bleach and oxalic acid burn skin and eyes: goggles, long gloves and water at hand, and "
        "never mix one with another or with a cleaner. The dust left in bleached wood is harmful too.",
        "general advice",
        "",
        ANYWHERE,
        GENERAL,
    ),
    Caution(
        "lifting",
        "Lifting and loads",
        "Take out drawers, shelves and glass, lift with a second person or a dolly, and tie the load down; a heavy "
        "piece on stairs wants three people or a mover.",
        "common practice",
        "",
        ANYWHERE,
        PRACTICE,
    ),
    Caution(
        "uk_upholstery",
        "Upholstery in the United Kingdom",
        "The furniture fire-safety regulations bind those who sell upholstery second-hand too: keep the permanent "
        "label on. Since 30 Oct 2025 new goods need no display label; furniture made before 1950 is excluded.",
        "SI 1988/1324, as amended by SI 2025/531",
        "1988 and 30 Oct 2025",
        "United Kingdom",
        CONFIRMED,
    ),
    Caution(
        "elsewhere",
        "Outside the United States",
        "Other rules bind sellers of used goods: ask the authority of your own place before you sell.",
        "general advice",
        "",
        "outside the United States",
        GENERAL,
    ),
)

CAUTIONS = MappingProxyType({c.key: c for c in _ALL})
