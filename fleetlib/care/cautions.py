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
        buyer="Old paint under a finish may contain lead: do not sand or scrape it.",
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
        "results missed lead that was there, and none worked through a clean topcoat.",
        "CPSC test-kit study, as quoted by a testing laboratory",
        "",
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
        "No stripper with methylene chloride (dichloromethane), old cans included: barred for consumers' paint removal "
        "in 2019; a 2024 rule bars retail sale and most use at work, for pay too. Read the rule as it stands today.",
        "40 CFR 751 subpart B; 84 FR 11420 (2019); 89 FR 39254 (in effect 8 Jul 2024)",
        "8 Jul 2024, amended 13 Nov 2025",
        US,
        CONFIRMED,
    ),
    Caution(
        "oily_rags",
        "Rags",
        "Treat every rag with finish on it as able to catch fire by itself, water-based finish too: spread it out "
        "singly outdoors to dry, never in a pile, then a metal can with water, detergent and a tight lid.",
        'NFPA tip sheet "Safety with Oily Rags"',
        "2017",
        ANYWHERE,
        CONFIRMED,
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
        "Rosewood and true mahogany can need papers to cross a border, and may be stopped without: ask your own "
        "authority before you sell or ship abroad.",
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
        "uk_upholstery",
        "Upholstery in the United Kingdom",
        "The furniture fire-safety regulations of 1988 bind those who sell upholstery second-hand too; furniture made "
        "before 1950 is excluded.",
        "SI 1988/1324",
        "1988",
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
