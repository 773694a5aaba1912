"""Headings, kinds, woods and finishes in French and German that are in no doubt; words of two meanings stay out.

From general dictionaries as remembered, no source; a word of the person's own settings or answers goes before.
"""

from __future__ import annotations

HEADINGS: dict[str, str] = {
    "piece": "nr | n\u00b0",
    "furniture_type": "meuble | pi\u00e8ce | objet | m\u00f6bel | m\u00f6belst\u00fcck | st\u00fcck",
    "wood": "bois | essence | holz | holzart",
    "finish": "finition | traitement | oberfl\u00e4che | behandlung",
    "bought_on": "achet\u00e9 le | date d'achat | gekauft am",
    "buy_price": "prix d'achat | achat | einkaufspreis | ek | gekauft f\u00fcr",
    "materials_cost": "fournitures | mat\u00e9riaux | mat\u00e9riel | material | materialkosten",
    "hours": "heures | temps | stunden | std",
    "listed_on": "mis en vente le | mise en vente | en ligne le | eingestellt am | online seit",
    "asking_price": "prix affich\u00e9 | prix demand\u00e9 | prix annonc\u00e9 | preis vb | angebotspreis",
    "sold_on": "vendu le | date de vente | verkauft am | weg am",
    "sale_price": "prix de vente | vendu \u00e0 | vendu pour | verkaufspreis | vk | verkauft f\u00fcr | erl\u00f6s",
    "notes": "remarques | remarque | bemerkungen | bemerkung | notizen",
    "size": "dimensions | ma\u00dfe | masse",
}
KINDS: dict[str, str] = {
    "chest of drawers": "commode | kommode",
    "armoire": "armoire normande | penderie | kleiderschrank",
    "nightstand": "chevet | table de chevet | nachttisch | nachtk\u00e4stchen | nachtschrank",
    "sideboard": "enfilade | bahut | anrichte",
    "hutch": "vaisselier | buffet parisien | k\u00fcchenbuffet",
    "dining table": "table de cuisine | table de ferme | esstisch | k\u00fcchentisch",
    "coffee table": "table basse | couchtisch",
    "side table": "table d'appoint | beistelltisch | gu\u00e9ridon",
    "desk": "secr\u00e9taire | sekret\u00e4r | schreibtisch",
    "vanity": "coiffeuse | schminktisch | frisiertisch",
    "bookcase": "biblioth\u00e8que | b\u00fccherregal | b\u00fccherschrank",
    "bench": "banc | sitzbank",
    "chair": "chaise | fauteuil | stuhl | sessel",
    "trunk": "coffre | malle | truhe",
    "nest of tables": "table gigogne | tables gigognes | satztisch | satztische | beistelltisch-set",
    "stool": "tabouret | hocker",
    "mirror": "miroir | spiegel",
}
WOODS: dict[str, str] = {
    "oak": "ch\u00eane | eiche", "walnut": "noyer | nussbaum", "beech": "h\u00eatre | buche", "pine": "pin | kiefer",
    "cherry": "merisier | cerisier | kirsche | kirschbaum", "ash": "fr\u00eane | esche", "elm": "orme | ulme",
    "mahogany": "acajou | mahagoni", "teak": "teck", "rosewood": "palissandre | palisander",
    "maple": "\u00e9rable | ahorn",
    "birch": "bouleau | birke", "poplar": "peuplier | pappel", "fir": "sapin | tanne",
}  # fmt: skip
FINISHES: dict[str, str] = {
    "oil": "ge\u00f6lt | huil\u00e9 | huil\u00e9e | huil\u00e9s | huil\u00e9es",
    "wax": "gewachst | cir\u00e9 | cir\u00e9e | cir\u00e9s | cir\u00e9es", "shellac": "schellack",
    "lacquer": "lackiert | klarlack | laqu\u00e9 | laqu\u00e9e",
    "varnish": "verni | vernie | vernies | vernis | vernis mat",
    "stain": "gebeizt | beize | teint\u00e9 | teint\u00e9e", "chalk-type paint": "kreidefarbe",
    "paint": "gestrichen | bemalt | peint | peinte | peints | peintes", "limed": "gekalkt | c\u00e9rus\u00e9",
    "raw": "unbehandelt | roh | brut",
    "stripped": "abgebeizt | abgelaugt | d\u00e9cap\u00e9 | d\u00e9cap\u00e9e | d\u00e9cap\u00e9s | d\u00e9cap\u00e9es",
}  # fmt: skip


def more(words: dict[str, str], name: str) -> tuple[str, ...]:
    """The words of other languages for `name`."""
    return tuple(w.strip() for w in words.get(name, "").split("|") if w.strip())
