"""Bench talk cut into clauses, and a clause reduced to the words that carry it.

Word lists here are about English only. What a symptom is called lives in its entry.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache
from itertools import islice

__all__ = [
    "ALIASES",
    "EVERYDAY",
    "STEADY",
    "TOPICS",
    "Clause",
    "Piece",
    "affirms",
    "clause",
    "holds_sometimes",
    "kin",
    "pieces",
    "tells",
    "weight_class",
]


def _set(text: str) -> frozenset[str]:
    return frozenset(text.split())


def _map(text: str) -> dict[str, str]:
    """'a b: c; d: e' -> {a: c, b: c, d: e}."""
    rows = (row.split(":") for row in text.replace("\n", " ").split(";") if row.strip())
    return {word: to.strip() for words, to in rows for word in words.split()}


_SILENT = _set(
    "a an the this that these those it its is are was were be been being am i im ive me my we our"
    " us you your he she they them his her him their there theres to of for from by as and but or"
    " so if just really very quite pretty too some any every each now today then get gets getting"
    " got gotten have has had having do does did doing done will would can could should here though"
    " although also plus with well oh hey thing thats what which who how really actually"
    " again still even ever keep keeps kept damn bloody mate guy bloke hell mad crazy nor yet"
    " absolutely whatsoever completely totally way far going go goes went gone about into onto"
    " than such same because since while whole time times please says said say looks look looking"
    " think thought guess reckon suppose today yesterday tomorrow real kind sort"
    " find finds found nowhere anywhere thing things"
)
_LIGHT = _set(
    "in on out off up down over back through all when after at under before between behind"
    " feel feels feeling felt always only lot lots loads much many more most little bit"
    " like seem seems sound sounds"
    " stay stays run runs running make makes making made come comes coming came one first last few"
    " turns turn try let put set off away around across along where once until long side"
    " other another else itself core cored"
)
_DENYING = _set(
    "no not nothing none never without neither nobody nobodys cant cannot wont dont doesnt didnt isnt arent"
    " wasnt werent aint hasnt havent hadnt couldnt wouldnt zero hardly barely scarcely lack lacks"
    " lacking nil"
)
_DENYING_NEXT = _set("no without zero nil hardly barely scarcely lack lacks lacking")
_DENYING_ALL = _set("nothing none nobody nobodys neither")
_ALMOST = _set("hardly barely scarcely")
_PRAISE = _set(
    "fine good ok okay great perfect perfectly normal normally alright nice nicely properly right"
    " correct smooth smoothly steady steadily stable consistent consistently beautiful beautifully"
    " excellent healthy happily sweet sweetly clean proper"
)
_BLAME = _set(
    "bad badly poor trouble troubles problem problems issue issues wrong rough awful terrible"
    " erratic unstable unsteady jerky uneven irregular inconsistent choppy funny rubbish"
)
STEADY = _set("smooth stead stabl consistent")
"""Praise that says what is right: 'not steady' is unsteady, while 'not good' may be anything."""

_WEAK = _set("weak")
"""Said of a thing that is fine, it is denied; 'not weak' denies nothing else."""
_ARC_RUNS_WELL = re.compile(
    r"\barc (?:runs?|running|burns?|burning|works?|working) (?:very |really |quite )?well\b"
)

_AFFIRMING = _set(
    "there on stops feed feeds flow flows flowing come comes coming work works working move"
    " moves run runs running turn turns turning start starts strikes light lights lit"
)
_HAVING = _set("has have got getting")

_OPPOSITE = _map(
    "cool: hot; straight: curved; easy easily: hard; strong: weak; quiet: loud; dry: wet;"
    "cold: hot; idle: running"
)
_SAME = _map(
    "swopped replaced: swapped;"
    "torch torches: gun; bottle bottles: cylinder; shroud cup: nozzle; ground: earth;"
    "cable cables leads: lead; puddle: pool; roller rollers rolls: roll; wirefeed: feed;"
    "amps amperes amperage ampere current currents: amp; volts voltage: volt; splatter splatters"
    " splattering: spatter; welder box: machine; reel: spool; gfci gfi rcbo: rcd;"
    "screen readout: display; grey: gray; aluminum: aluminium; centre centerline: center;"
    "neighbour neighbours neighbors: neighbor; ropy: ropey; mcb: breaker; discoloured: discolored;"
    "smouldering smoldering smoulders: smolder; oxidised oxidized oxidises: oxide;"
    "burnt burned: burn; froze frozen freezing: freeze; stuck sticking: stick; blew blown: blow;"
    "broke broken: break; lit: light; spun: spin; shot: shoot; fell: fall;"
    "porosity porous pores: pore; fused: fusion; burns burning: burn; gas: gas; jams jammed: jam;"
    "sparky: electrician; table tables: bench; galv galvy galvo galvanised: galvanized;"
    "receptacle: outlet; mains: supply; brittle: crack; lamps lights: lamp; bits pieces: bits;"
    "starting starts started start strike strikes struck striking: start; quits quit: stop;"
    "stopped stops: stop; colour: color; bead beads welds: bead; seam: bead; plugged: block;"
    "blocked clogged: block; sputters splutters spluttering: sputter; cracked cracking: crack;"
    "crap shit poo droppings: poop; hardly scarcely: barely; fumes: fume;"
    "warmer warms warmed: warm; hotter: hot; louder: loud;"
    "slower: slow; lower: low; colder: cold; bigger: big; happens happening: happen"
)
_NEAR: dict[tuple[str, str], float] = {
    ("pore", "hole"): 0.8,
    ("pore", "pinhol"): 0.92,
    ("hole", "pinhol"): 0.9,
    ("weld", "bead"): 0.85,
    ("outlet", "socket"): 0.9,
    ("plate", "sheet"): 0.7,
    ("fuse", "breaker"): 0.6,
    ("stop", "quit"): 0.9,
    ("warm", "hot"): 0.7,
    ("jump", "surg"): 0.5,
    ("trip", "kick"): 0.7,
    ("trip", "throw"): 0.7,
    ("trip", "knock"): 0.7,
    ("trip", "blow"): 0.6,
    ("trip", "pop"): 0.6,
    ("push", "shove"): 0.9,
    ("big", "larg"): 0.95,
    ("spark", "arc"): 0.7,
    ("peel", "lift"): 0.7,
    ("stick", "glue"): 0.7,
    ("trap", "stick"): 0.6,
    ("pull", "squeez"): 0.8,
    ("press", "squeez"): 0.9,
    ("press", "pull"): 0.9,
    ("jammed", "block"): 0.7,
    ("shoot", "fli"): 0.8,
    ("chip", "lift"): 0.8,
    ("glow", "red"): 0.6,
    ("lamp", "light"): 0.8,
    ("bits", "flak"): 0.8,
    ("block", "stick"): 0.6,
    ("tall", "high"): 0.9,
    ("smell", "stink"): 0.95,
    ("screech", "squeal"): 0.9,
    ("squeak", "squeal"): 0.9,
}

_UNIT = (
    r"(?:v|a|mm2|mm|cm|m/min|m|in/min|ipm|in|inch(?:es)?|cfh|l/min|lpm|psi|bar|hz|kg|ft|awg|%|kva|kw"
    r"|volts?|amps?|min(?:utes?)?|sec(?:onds?)?|hours?|gauge|thou|x)?\b"
)
_ZERO = re.compile(r"(?<![\d.,/])0\s*(?=(?:v|a|volts?|amps?)\b)", re.I)
_NUMBER = re.compile(r"(?<![a-z])[#~]?\d+(?:[.,/:]\d+)*\s*" + _UNIT, re.I)
_NUMBER_WORD = _set(
    "two three four five six seven eight nine ten twelve fifteen twenty thirty hundred couple half"
)
_BOTH_UNITS = re.compile(r"\b(?:amps?|amperes|current|volts?|voltage)\b", re.I)
_BREAK = re.compile(
    r"[;\n!?&+()]|,(?!\d)|\.(?!\d)|(?<!\d)/|:(?!\d)|\s-\s|--"
    r"|\b(?:and(?!(?<=now and) then\b)|(?<!and )then|but|with|plus|yet|although|though|or|nor"
    r"|whereas)\b|(?=\bno\b)",
    re.I,
)
_UNSURE = re.compile(
    r"\b(not (?:quite |really )?(?:sure|certain)|dont know|do not know|unsure|no idea"
    r"|might|maybe|perhaps|possibly|could be|cant tell|cannot tell|used to (?:be|have|get|do)"
    r"|dont (?:think|reckon|believe|suppose))\b"
    r"|^\s*(?:is|are|was|were|does|do|did|can|should) (?:there|it|the|this|that|you|we|i|my)\b"
)
_GONE = re.compile(r"\b(?:went away|gone away|goes away|cleared up|is gone|are gone|been cured)\b")
_HARD = re.compile(r"\b(?:pig|bitch|bugger|sod|swine|bastard|nightmare|pain|job and a half) to\b")
_TOO = re.compile(
    r"\b(?:so|too|that) (\w+) (?:that )?(?:i|you|we|he|she|they) "
    r"(?:cant|cannot|can not|couldnt|could not|can hardly|can barely)\b"
)
_REST = re.compile(r"\b(after|for) (?:a|my) (?:smoke|fag|brew|coffee|break|lunch)\b")
_HANDS_OFF = re.compile(
    r"\b(?:cant|cannot|can not|couldnt|can hardly|can barely) (?:even )?"
    r"(touch|hold|keep (?:a|my|your) hands? on) (?=(?:it|that|the (?!arc|puddle)\w+)\b)"
    r"(?!it (?:steady|still|straight))(?!.*\b(?:without|shock\w*|bit\w*|zap\w*|tingl\w*)\b)"
)
"""'So hot I can't touch it', 'can't hold it' are 'too hot to touch': the denial is about the hand."""
_CONDITION = re.compile(
    r"\b(?:if|until|til|till|unless|except|as (?:long|soon) as|at first|to start with|when|while"
    r"|for (?:\w+ ){0,3}(?:minutes?|seconds?|hours?|while|bit|inch|inches|days?))\b"
    r"(?! (?:i|you|we) (?:pull|press|squeeze|hit)\b)"
)
_NOT_ONLY = re.compile(r"\bnot (?:only|just)\b|\bno wonder\b|\bno doubt\b|\bno matter\b")
_ENDINGS = ("ings", "ing", "edly", "ed", "ies", "es", "s", "ly", "y", "e")


@dataclass(frozen=True)
class Piece:
    """A stretch of what was said, the word that joined it to the last, and where it stands."""

    joiner: str
    start: int
    end: int


@dataclass(frozen=True)
class Clause:
    """A clause as the scorer sees it.

    `words` keep their order; `stems` are what carries meaning, without denials; `denials` counts
    them; `praise` and `blame` are the stems of the words that judge, `lacks` of those that say that
    strength is missing ('weak'); `turned` holds the stems with opposites replaced ('cool' -> 'hot')
    where there were any; `parts` is how many and / but join; `conditional`: it holds sometimes only;
    `denied` are the stems that stand right by a denial ('gas but no wire': wire).
    """

    words: tuple[str, ...]
    stems: tuple[str, ...]
    denials: int
    praise: frozenset[str]
    blame: frozenset[str]
    turned: tuple[str, ...]
    unsure: bool
    parts: int = 1
    denied: frozenset[str] = frozenset()
    lacks: frozenset[str] = frozenset()
    conditional: bool = False


def _folded(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode("ascii")
    return plain.lower()


def _without_numbers(text: str) -> str:
    text = _ZERO.sub("zero ", text)
    bare = _NUMBER.sub(" ", text)
    if _BOTH_UNITS.search(bare):
        return re.sub(r"\d+(?:[.,/:]\d+)*", " ", text)
    return bare


@cache
def _stem(word: str) -> str:
    return _root(_SAME.get(word, word))


def _root(word: str) -> str:
    """Strip the endings of English that leave the meaning alone."""
    if len(word) <= 3 or word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("tion") and len(word) > 6:
        return word[:-3]
    for ending in _ENDINGS:
        root = word.removesuffix(ending)
        if root != word and len(root) >= 3:
            return _tidied(root, ending)
    return word


def _tidied(root: str, ending: str) -> str:
    if ending == "ies":
        return root + "i"
    if ending in ("ing", "ed") and root[-1] == root[-2] and root[-1] not in "slzf":
        root = root[:-1]
    return root[:-1] if root.endswith(("e", "y")) and len(root) > 3 else root


def weight_class(stem: str) -> float | None:
    """Return the fixed weight of a word that says little, or None for one that carries meaning.

    >>> weight_class("on"), weight_class("porosity")
    (0.15, None)
    """
    return 0.15 if stem in _LIGHT_STEMS else None


def kin(stem: str) -> tuple[tuple[str, float], ...]:
    """Return the stems that nearly mean the same, with how nearly (0..1).

    >>> kin("tall")
    (('high', 0.9),)
    """
    return _KIN.get(stem, ())


def clause(text: str, extra_denials: int = 0) -> Clause:
    """Return the words of `text` that matter. `extra_denials` carries a 'no' from a list before.

    >>> clause("the clamp isn't hot").stems, clause("the clamp isn't hot").denials
    (('clamp', 'hot'), 1)
    """
    plain = _without_numbers(_folded(text).replace("'", "").replace("`", ""))
    plain = _HARD.sub("hard to", _NOT_ONLY.sub(" ", plain))
    plain = _REST.sub(r"\1 a rest", plain)
    plain = _HANDS_OFF.sub(r"too hot to \1 ", _TOO.sub(r"too \1 to", plain))
    plain = re.sub(r"\bno longer\b", "not", plain)
    plain = re.sub(r"\b(never|arc|it) lights\b", r"\1 light", plain)
    plain = _ARC_RUNS_WELL.sub("arc is fine", plain)
    unsure = bool(_UNSURE.search(plain))
    plain, gone = _GONE.subn(" ", plain)
    words = tuple(w for w in re.findall(r"[a-z]+", plain) if w not in _NUMBER_WORD)
    denials = sum(w in _DENYING for w in words) + extra_denials + gone
    telling = [w for w in words if (w not in _DENYING or w in _ALMOST) and w not in _SILENT]
    stems = tuple(dict.fromkeys(_stem(w) for w in telling))
    turned = tuple(dict.fromkeys(_stem(_OPPOSITE.get(w, w)) for w in telling))
    return Clause(
        words=words,
        stems=stems,
        denials=denials,
        praise=frozenset(_stem(w) for w in telling if w in _PRAISE),
        blame=frozenset(_stem(w) for w in telling if w in _BLAME),
        turned=turned if turned != stems else (),
        unsure=unsure,
        denied=_denied(words),
        lacks=frozenset(_stem(w) for w in telling if w in _WEAK),
        conditional=holds_sometimes(text),
        parts=1 + len(re.findall(r"\b(?:and|but)\b", plain)),
    )


def _denied(words: tuple[str, ...]) -> frozenset[str]:
    """The stem after each 'no' and 'not the', and the one before each 'does not'."""
    found: set[str] = set()
    for index, word in enumerate(words):
        if word not in _DENYING or word in _DENYING_ALL:
            continue
        ahead = word in _DENYING_NEXT or words[index + 1 : index + 2] in (("the",), ("my",))
        near = words[index + 1 :] if ahead else words[:index][::-1]
        telling = (w for w in near if w not in _SILENT and w not in _DENYING)
        found.update(_stem(w) for w in islice(telling, 1))
    return frozenset(found)


def pieces(text: str) -> list[Piece]:
    """Cut `text` at commas, full stops, joining words, and before 'no'.

    >>> [("wire feeds, no arc"[p.start : p.end]).strip() for p in pieces("wire feeds, no arc")]
    ['wire feeds', 'no arc']
    """
    found: list[Piece] = []
    start, joiner = 0, ""
    for cut in _BREAK.finditer(text):
        if cut.end() == cut.start() and not clause(text[start : cut.start()]).stems:
            continue
        if text[start : cut.start()].strip():
            found.append(Piece(joiner, start, cut.start()))
            joiner = cut.group().strip().lower()
        else:
            joiner = cut.group().strip().lower() or joiner
        start = cut.end()
    if text[start:].strip():
        found.append(Piece(joiner, start, len(text)))
    return found


def tells(heard: Clause) -> bool:
    """Return whether any word of the clause carries meaning by itself.

    >>> tells(clause("it comes and goes")), tells(clause("porosity"))
    (False, True)
    """
    return any(weight_class(stem) is None for stem in heard.stems)


def holds_sometimes(text: str) -> bool:
    """Return whether `text` names a condition, so that praise in it denies nothing.

    >>> holds_sometimes("fine until it warms up"), holds_sometimes("gas flows when I pull the trigger")
    (True, False)
    """
    return bool(_CONDITION.search(_folded(text).replace("'", "")))


def affirms(heard: Clause) -> bool:
    """Return whether the clause says that something works, moves or is there.

    >>> affirms(clause("the gas flows")), affirms(clause("the gas"))
    (True, False)
    """
    return (
        bool(heard.praise)
        or any(word in _AFFIRMING for word in heard.words)
        or any(word in _HAVING for word in heard.words[:-1])
    )


_LIGHT_STEMS = frozenset(_stem(word) for word in _LIGHT) | _LIGHT


def _kinships() -> dict[str, tuple[tuple[str, float], ...]]:
    table: dict[str, list[tuple[str, float]]] = {}
    for pair, sim in _NEAR.items():
        one, other = (_stem(word) for word in pair)
        table.setdefault(one, []).append((other, sim))
        table.setdefault(other, []).append((one, sim))
    return {word: tuple(sorted(near)) for word, near in table.items()}


_KIN = _kinships()

TOPICS = frozenset(
    _stem(word)
    for word in _set(
        "wire arc gas clamp gun tip bead spool roll machine feed feeder lead plug nozzle liner"
        " regulator cylinder slag breaker fan trigger tack crater pool fume motor hose"
    )
)
"""What a clause can be about, so that 'the clamp sparks and gets hot' is twice about the clamp."""

EVERYDAY = TOPICS | {
    _stem(word) for word in _set("wall outlet socket supply cord bench floor paint pipe tube oil")
}
"""Things that stand at every bench: naming one of them is no warning yet."""

ALIASES: dict[str, str] = {key: _stem(word) for word in _SAME for key in (_root(word), word)}
"""Another word for the same thing -> the stem that stands for all of them."""
