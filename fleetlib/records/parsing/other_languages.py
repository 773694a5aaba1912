"""Headings, kinds, woods, finishes and months in French, German, Swedish, Dutch, Spanish and Italian that are in no
doubt: the trade's everyday words. Words of two meanings stay out.

From general dictionaries as remembered, no source; a word of the person's own settings or answers goes before.
"""

from __future__ import annotations


def more(words: dict[str, str], name: str) -> tuple[str, ...]:
    """The words of other languages for `name`."""
    return tuple(w.strip() for w in words.get(name, "").split("|") if w.strip())


HEADINGS: dict[str, str] = {
    "piece": "nr | n\u00b0",
    "furniture_type": "meuble | pi\u00e8ce | objet | m\u00f6bel | m\u00f6belst\u00fcck | st\u00fcck | meubel | "
    "meubelstuk | mueble | pieza | art\u00edculo",
    "wood": "bois | essence | holz | holzart | tr\u00e4slag | houtsoort | hout | madera | legno | essenza",
    "finish": "finition | traitement | oberfl\u00e4che | behandlung | behandling | ytbehandling | afwerking | "
    "behandeling | acabado | tratamiento | finitura | trattamento",
    "bought_on": "achet\u00e9 le | date d'achat | gekauft am | ink\u00f6pt | ink\u00f6psdatum | k\u00f6pt | "
    "gekocht | gekocht op | aankoopdatum | inkoopdatum | comprado | comprado el | fecha de compra | acquistato | "
    "acquistato il | data acquisto | data di acquisto",
    "buy_price": "prix d'achat | achat | einkaufspreis | ek | gekauft f\u00fcr | ink\u00f6pspris | "
    "k\u00f6pt f\u00f6r | inkoop | inkoopprijs | aankoopprijs | gekocht voor | precio de compra | prezzo d'acquisto | "
    "prezzo di acquisto | pagato",
    "materials_cost": "fournitures | mat\u00e9riaux | mat\u00e9riel | material | materialkosten | "
    "materialkostnad | materiaal | materiaalkosten | materiales | materiali",
    "hours": "heures | temps | stunden | std | tid | timmar | arbetstid | uren | tijd | horas | tiempo | "
    "ore | tempo",
    "listed_on": "mis en vente le | mise en vente | en ligne le | eingestellt am | online seit | "
    "annonserad | utlagd | geplaatst | geplaatst op | te koop sinds | publicado | publicado el | anunciado | "
    "pubblicato | pubblicato il | in vendita dal",
    "asking_price": "prix affich\u00e9 | prix demand\u00e9 | prix annonc\u00e9 | preis vb | angebotspreis | "
    "utpris | beg\u00e4rt pris | vraagprijs | precio pedido | precio inicial | prezzo richiesto | "
    "prezzo iniziale",
    "sold_on": "vendu le | date de vente | verkauft am | weg am | s\u00e5ld | f\u00f6rs\u00e4ljningsdatum | "
    "verkocht | verkocht op | verkoopdatum | vendido | vendido el | fecha de venta | venduto | venduto il | "
    "data vendita | data di vendita",
    "sale_price": "prix de vente | vendu \u00e0 | vendu pour | verkaufspreis | vk | verkauft f\u00fcr | "
    "erl\u00f6s | opbrengst | slutpris | s\u00e5ld f\u00f6r | f\u00f6rs\u00e4ljningspris | verkoopprijs | "
    "verkocht voor | precio de venta | precio final | vendido por | prezzo di vendita | prezzo finale | venduto a",
    "notes": "remarques | remarque | bemerkungen | bemerkung | notizen | anm | anm\u00e4rkning | "
    "anteckningar | opmerking | opmerkingen | notities | notas | observaciones | osservazioni",
    "width_in": "largeur | breite | bredd | breedte | ancho | anchura | larghezza",
    "depth_in": "profondeur | tiefe | djup | diepte | fondo | profundidad | profondit\u00e0",
    "height_in": "hauteur | h\u00f6he | h\u00f6jd | hoogte | alto | altura | altezza",
    "size": "dimensions | ma\u00dfe | masse | m\u00e5tt | afmetingen | maten | medidas | misure | dimensioni",
    "last_asking_price": "s\u00e4nkt | s\u00e4nkt pris | s\u00e4nkt till | laatste prijs | afgeprijsd naar | "
    "precio rebajado | rebajado a | prezzo ribassato",
}  # fmt: skip
KINDS: dict[str, str] = {
    "chest of drawers": "commode | kommode | byr\u00e5 | ladekast | c\u00f3moda | chifonier | cassettiera | "
    "com\u00f2 | settimino | cassettone | settimanale",
    "armoire": "armoire normande | penderie | kleiderschrank | garderob | kl\u00e4dsk\u00e5p | kledingkast | "
    "linnenkast | armario | ropero | armadio",
    "nightstand": "chevet | table de chevet | nachttisch | nachtk\u00e4stchen | nachtschrank | s\u00e4ngbord | "
    "nachtkastje | mesilla | mesita de noche | mesilla de noche | comodino | comodini",
    "sideboard": "enfilade | bahut | anrichte | sk\u00e4nk | dressoir | aparador",
    "hutch": "vaisselier | buffet parisien | k\u00fcchenbuffet | vitrinsk\u00e5p | vitrinekast | buffetkast | "
    "vitrina | vetrina | vetrinetta | cristalliera",
    "dining table": "table de cuisine | table de ferme | esstisch | k\u00fcchentisch | matbord | k\u00f6ksbord | "
    "klaffbord | slagbord | eettafel | keukentafel | klaptafel | mesa de comedor | mesa de cocina | tavolo | "
    "tavolo da pranzo | tavolo da cucina | tavolo allungabile",
    "coffee table": "table basse | couchtisch | soffbord | salontafel | mesa de centro | "
    "tavolino da salotto | tavolino da caff\u00e8",
    "side table": "table d'appoint | beistelltisch | gu\u00e9ridon | sidobord | lampbord | bijzettafel | "
    "bijzettafeltje | mesa auxiliar | mesita auxiliar | tavolino",
    "desk": "secr\u00e9taire | sekret\u00e4r | schreibtisch | skrivbord | schrijftafel | escritorio | secreter | "
    "scrivania | scrittoio",
    "vanity": "coiffeuse | schminktisch | frisiertisch | spegelbord | sminkbord | toalettbord | kaptafel | "
    "tocador | toeletta | toletta",
    "bookcase": "biblioth\u00e8que | b\u00fccherregal | b\u00fccherschrank | bokhylla | boekenkast | librer\u00eda | "
    "estanter\u00eda | libreria",
    "bench": "banc | sitzbank | b\u00e4nk | k\u00f6kssoffa | bankje | banco | panca",
    "chair": "chaise | fauteuil | stuhl | sessel | stol | stolar | f\u00e5t\u00f6lj | f\u00e5t\u00f6ljer | "
    "gungstol | matstolar | k\u00f6ksstol | k\u00f6ksstolar | stoel | stoelen | eetkamerstoel | "
    "eetkamerstoelen | schommelstoel | silla | sillas | sill\u00f3n | butaca | mecedora | sedia | sedie | "
    "poltrona | sedia a dondolo | schaukelstuhl | chaise \u00e0 bascule",
    "trunk": "coffre | malle | truhe | kista | dekenkist | ba\u00fal | arc\u00f3n | baule | cassapanca",
    "nest of tables": "table gigogne | tables gigognes | satztisch | satztische | beistelltisch-set | "
    "satsbord | mimiset | mesas nido | tavolini a incastro",
    "stool": "tabouret | hocker | pall | krukje | taburete | sgabello | sgabelli",
    "mirror": "miroir | spiegel | spegel | espejo | specchio",
    "console": "avlastningsbord | wandtafel | consola | consolle",
    "cabinet": "sk\u00e5p | h\u00f6rnsk\u00e5p | hoekkast",
}  # fmt: skip
WOODS: dict[str, str] = {
    "oak": "ch\u00eane | eiche | ek | eiken | eikenhout | roble | rovere | quercia",
    "walnut": "noyer | nussbaum | valn\u00f6t | noten | notenhout | nogal | noce",
    "beech": "h\u00eatre | buche | bok | beuken | beukenhout | haya | faggio",
    "pine": "pin | kiefer | furu | grenen | grenenhout | pino",
    "cherry": "merisier | cerisier | kirsche | kirschbaum | k\u00f6rsb\u00e4r | kersen | kersenhout | cerezo | "
    "ciliegio",
    "ash": "fr\u00eane | esche | essen | essenhout | fresno | frassino",
    "elm": "orme | ulme | alm | iepen | olmo",
    "mahogany": "acajou | mahagoni | mahogny | mahonie | caoba | mogano",
    "teak": "teck | teca",
    "rosewood": "palissandre | palisander | jakaranda | palisandro | palissandro",
    "maple": "\u00e9rable | ahorn | l\u00f6nn | esdoorn | arce | acero",
    "birch": "bouleau | birke | bj\u00f6rk | berken | berkenhout | abedul | betulla",
    "poplar": "peuplier | pappel | populieren | pioppo",
    "chestnut": "ch\u00e2taignier | kastanie | edelkastanie | kastanje | casta\u00f1o | castagno",
    "fir": "sapin | tanne | abete",
}  # fmt: skip
FINISHES: dict[str, str] = {
    "oil": "ge\u00f6lt | huil\u00e9 | huil\u00e9e | huil\u00e9s | huil\u00e9es | oljad | oljat | oljade | "
    "h\u00e5rdvaxolja | geolied | hout geolied | olie | hardwasolie | aceite | "
    "aceitado | aceitada | olio | oliato | oliata",
    "wax": "gewachst | cir\u00e9 | cir\u00e9e | cir\u00e9s | cir\u00e9es | vaxad | vaxat | vaxade | gewaxt | "
    "in de was | cera | encerado | "
    "encerada | cerato | cerata",
    "shellac": "schellack | schellak | goma laca | gommalacca",
    "lacquer": "lackiert | klarlack | laqu\u00e9 | laqu\u00e9e | lackad | lackat | lackade | gelakt | lacado | "
    "lacada | laccato | laccata",
    "varnish": "verni | vernie | vernies | vernis | vernis mat | barniz | barnizado | barnizada | vernice | "
    "vernice trasparente",
    "stain": "gebeizt | beize | teint\u00e9 | teint\u00e9e | betsad | betsat | betsade | gebeitst | te\u00f1ido | "
    "te\u00f1ida | mordenzato | mordenzata",
    "chalk-type paint": "kreidefarbe | kalkf\u00e4rg | krijtverf | pintura a la tiza",
    "paint": "gestrichen | bemalt | peint | peinte | peints | peintes | m\u00e5lad | m\u00e5lat | m\u00e5lade | "
    "geschilderd | "
    "geverfd | pintado | pintada | dipinto | dipinta",
    "limed": "gekalkt | c\u00e9rus\u00e9",
    "raw": "unbehandelt | roh | brut | obehandlad | onbehandeld | sin tratar | grezzo | grezza",
    "stripped": "abgebeizt | abgelaugt | d\u00e9cap\u00e9 | d\u00e9cap\u00e9e | d\u00e9cap\u00e9s | "
    "d\u00e9cap\u00e9es | avlutad | geloogd | gestript | sverniciato | "
    "sverniciata",
}  # fmt: skip
_MONTHS = (
    "januari januar janvier janv enero ene gennaio",
    "februari februar f\u00e9vrier f\u00e9vr f\u00e9v febrero febbraio",
    "mars maart mrt m\u00e4rz mrz marzo",
    "avril avr abril abr aprile",
    "maj mei mai mayo maggio",
    "juni juin junio giugno giu",
    "juli juillet juil julio luglio lug",
    "augusti augustus ao\u00fbt agosto",
    "septembre septiembre setiembre settembre",
    "oktober okt octobre octubre ottobre ott",
    "novembre noviembre",
    "dezember dez d\u00e9cembre d\u00e9c diciembre dic dicembre",
)
MONTHS_ELSEWHERE = {w: n for n, words in enumerate(_MONTHS, start=1) for w in words.split()}
# What a cell says of where a piece stands, where it says no more.
STATES: dict[str, str] = {
    "sold": "verkocht | verkauft | vendu | vendue | s\u00e5ld | s\u00e5lt | vendido | vendida | venduto | venduta | "
    "geruild | getauscht | \u00e9chang\u00e9 | bytt | cambiado | scambiato",
    "on hand": "te koop | \u00e0 vendre | en vente | zu verkaufen | till salu | en venta | in vendita | werkplaats | "
    "in de werkplaats | werkstatt | in der werkstatt | atelier | \u00e0 l'atelier | verkstad | i verkstaden | taller | "
    "en el taller | in laboratorio",
    "kept": "houden | gehouden | behouden | behalten | gard\u00e9 | gard\u00e9e | beh\u00e5llen | tenuto | tenuta",
    "given away": "weggegeven | verschenkt | donn\u00e9 | donn\u00e9e | bortsk\u00e4nkt | regalado | regalada | "
    "regalato | regalata",
    "scrapped": "weggegooid | entsorgt | jet\u00e9 | jet\u00e9e | sl\u00e4ngd | tirado | tirada | buttato | buttata",
    "came back": "retour | zur\u00fcck | zur\u00fcckgegeben | retourn\u00e9 | devuelto | devuelta | reso",
}  # fmt: skip
STATED = {w: said for said in STATES for w in more(STATES, said)}
# A coat of lacquer in one of these is a paint: "wei\u00df lackiert".
_COLOURS = (
    "blanc blanche noir noire gris grise bleu bleue vert verte rouge jaune wei\u00df weiss schwarz grau blau"
    " gr\u00fcn rot gelb wit zwart grijs blauw groen rood geel vit vitt svart gr\u00e5 bl\u00e5 gr\u00f6n"
    " r\u00f6d gul blanco blanca negro negra azul rojo roja amarillo bianco bianca nero nera grigio grigia blu"
    " rosso rossa giallo"
)
COLOURS = frozenset(_COLOURS.split())
LACQUERED = frozenset(more(FINISHES, "lacquer")) - {"klarlack"}
# What a remark tells of a piece that left, or came back: patterns in text made plain. A word that may as well be said
# of a part ("Originalgriffe behalten") counts where it stands alone.
_ALONE = r"(?:^|[,;.(] ?)(?:{})(?:$| ?[,;.!()])"
GIVEN_AWAY_ELSEWHERE = (
    r"\bregal(?:at[oaie]|ad[oa]s?) (?:a|al|alla|ai|all')(?: |\b)|\bdonat[oaie] a\b|\b(?:data|dato) a mi[ao]\b"
    r"|\bdonn\u00e9e?s? (?:\u00e0|a|au|aux)\b|\bofferte?s? (?:\u00e0|a|au|aux)\b|\bcadeau (?:pour|\u00e0|aan|voor)\b"
    r"|\bverschenkt\b|\bgeschenkt an\b|\bgespendet\b|\bgeschenk f\u00fcr\b|\b(?:gett|gav|given) bort\b"
    r"|\bbortsk\u00e4nkt\b|\bsk\u00e4nkt till\b|\bgav (?:den|det|dem) till\b|\bbortgiven\b"
    r"|\bdonad[oa]s?\b|\bse l[oa]s? (?:di|regal\u00e9) a\b|\bweggegeven\b|\bgegeven aan\b|\bgeschonken aan\b|"
    + _ALONE.format(r"regal(?:at[oaie]|ad[oa]s?)|offerte?s?")
)
KEPT_ELSEWHERE = (
    r"\b(?:la|lo|le|li) (?:tengo|teniamo)\b(?! in vendita)|\btenut[oaie] (?:io|noi|per (?:me|noi|casa))\b"
    r"|\b(?:je|on|nous) (?:la|le|les) gard(?:e|ons)\b|\bgard\u00e9e?s? pour (?:moi|nous|la maison|m[ao]n?)\b"
    r"|\bbehalten? (?:ich|wir)\b|\b(?:f\u00fcr (?:mich|uns)|selbst|selber) behalten\b"
    r"|\bbeh(?:\u00e5ller|\u00f6ll|\u00e5llit) (?:den|det|dem|sj\u00e4lva?)\b|\bsparad till (?:mig|oss)\b"
    r"|\b(?:me|nos) l[oa]s? (?:quedo|quedamos|qued\u00e9)\b|\bguardad[oa]s? para (?:m\u00ed|nosotros|casa)\b"
    r"|\b(?:zelf|voor (?:mezelf|onszelf|ons)) gehouden\b|\bhoud? ik zelf\b|"
    + _ALONE.format(r"tenut[oaie]|gard\u00e9e?s?|behalten|beh\u00e5ll(?:en|et)|gehouden")
)
SCRAPPED_ELSEWHERE = (
    r"\b(?:in discarica|\u00e0 la (?:d\u00e9chetterie|benne)|a la basura|naar de stort|till tippen)\b|"
    + (
        _ALONE.format(
            r"buttat[oaie](?: via)?|rottamat[oaie]|jet\u00e9e?s?|entsorgt|weggeworfen|sl\u00e4ng[dt]|desguazad[oa]"
            r"|weggegooid"
        )
    )
)
BACK_ELSEWHERE = (
    r"\bres[oaie] (?:il \d|dal |dalla |perch\u00e9)|\brestituit[oaie]\b|\brimborsat[oaie]\b|\btornat[oaie] indietro\b"
    r"|\brendue?s? (?:le \d|par )|\bretourn\u00e9e?s? (?:le \d|par )|\brembours\u00e9e?s?\b|\brapport\u00e9e?s? par\b"
    r"|\bzur\u00fcck(?:gegeben|gebracht|gekommen|genommen)\b|\bkam zur\u00fcck\b|\bgeld zur\u00fcck\b|\bkam retour\b"
    r"|\breturnera[dt]e?\b|\b\u00e5terl\u00e4mna[dt]e?\b|\bkom tillbaka\b|\bl\u00e4mnade? tillbaka\b"
    r"|\bpengarna tillbaka\b"
    r"|\b\u00e5terbetal(?:d|t|ade)\b|\bdevuelt[oa]s?\b|\bdevolvi(?:\u00f3|eron)\b|\breembolsad[oa]\b"
    r"|\bteruggebracht\b|\bgeretourneerd\b|\bterugbetaald\b|\bgeld terug\b|"
    + _ALONE.format(r"res[oaie]|rendue?s?|retourn\u00e9e?s?|retour|devoluci\u00f3n")
)
