"""Says in sentences, with sources, what the findings rest on and what they cannot show."""

from __future__ import annotations

from triage.estimates.detection import FEWEST_CASES, WIDEST_INTERVAL, Detection
from triage.report.parts import number, with_interval
from triage.report.wording import plural

CANNOT_SHOW = (
    "Adults overstate breeding: they fly in from elsewhere, and models built on adult records alone"
    " reach further than those built on breeding evidence (Patten, Bried & Smith-Patten 2015,"
    " Freshwater Science). At four species of one study adult activity followed breeding but for"
    " three of them not the later emergence (Halverson & Gill 2018, Banisteria 51).",
    "Searches for exuviae miss species: an hour of searching detects less than twenty minutes of"
    " watching adults, and the richness found as exuviae is biased low (Bried et al. 2012, Insect"
    " Conservation and Diversity, doi 10.1111/j.1752-4598.2011.00171.x). Adult and exuviae surveys"
    " of 29 ponds could not stand in for each other (Raebel et al. 2010, Journal of Insect"
    " Conservation, doi 10.1007/s10841-010-9281-7). The difference between the two lists is a"
    " finding, not an error of one of them.",
    "A photo shows what a photographer met: common, large, tame and sunlit animals at places that"
    " people like. Counts of sightings are not counts of animals, and no rate of anything.",
    "A match is a weighing of explanations under stated assumptions, never proof that an animal"
    " emerged at a site. The distances behind it are recaptures of mature adults near water and"
    " underestimate how far an animal flies from where it emerged (Goral 2024, Odonatologica 53).",
    "A name to genus agrees with a species of the genus without confirming it. Many small"
    " dragonflies and most females cannot be told apart in photos, and cast skins of damselflies"
    " that lost their gills often only to genus.",
    "Larvae released with plants, or ponds younger than a year, can carry skins of animals that"
    " did not grow up there.",
)

SOURCES = (
    "Accumulation: exact mean over all orders (Ugland, Gray & Ellingsen 2003, Journal of Animal"
    " Ecology 72: 888-897), error of Colwell et al. 2012, Journal of Plant Ecology 5: 3-21.",
    "Agreement: Cohen 1960; Fleiss 1971; Krippendorff 2011; intervals of shares: Wilson 1927.",
    "Coverage, rarefaction, extrapolation, Hill numbers: Hurlbert 1971; Esty 1983, Annals of"
    " Statistics 11: 905-912; Chao & Jost 2012, Ecology 93: 2533-2547; Chao, Wang & Jost 2013,"
    " Methods in Ecology and Evolution 4: 1091-1100; Chao et al. 2014, Ecological Monographs 84:"
    " 45-67.",
    "Detection: Huggins 1989, Biometrika 76: 133-140 (conditioning on a find), differing between"
    " waters as in Royle & Nichols 2003, Ecology 84: 777-790; occupancy: MacKenzie et al. 2002,"
    " Ecology 83: 2248-2255; the stated setting"
    " from DuBois 2015, International Journal of Odonatology 18.",
    "Effort: at least five visits over the season of about an hour, aiming at 300 exuviae; at most"
    " 40 is unreliable (Hardersen et al. 2017, doi 10.1007/s10841-017-9969-z).",
    "Likeness of lists: Jaccard 1912; Sorensen 1948.",
    "Movement: Rouquette & Thompson 2007 (doi 10.1111/j.1365-2664.2007.01284.x); Hardersen 2007;"
    " Wikelski et al. 2006 (Biology Letters 2: 325-329); the other kernels are choices.",
    "Nearness: permutation of whole waters, p = (b + 1)/(B + 1) (Phipson & Smyth 2010).",
    "Rank correlation: Spearman 1904; Kendall 1938; interval of Bonett & Wright 2000.",
    "Richness: Chao 1984, 1987; Chao & Lee 1992 (ACE); Lee & Chao 1994 (ICE); Burnham & Overton"
    " 1979 and Heltshe & Forrester 1983 (jackknife); Smith & van Belle 1984 (bootstrap).",
    "Season: weighted quantiles; EM50 after Corbet 1999.",
    "Skins last for weeks on the shore, lost fastest in the first (Aliberti Lubertazzi & Ginsberg"
    " 2009, Northeastern Naturalist 16: 141-147).",
)


def detection_sentences(detection: Detection) -> tuple[str, ...]:
    """Which detection the absences rest on, and what the published one covers."""
    bounds = (
        f" ({number(detection.low)} to {number(detection.high)})"
        if detection.low < detection.high
        else ""
    )
    own = (
        f"The survey's own estimate is {with_interval(detection.own)} for one pass, from"
        f" {plural(detection.cases, 'case')} of a taxon found at a site that was searched twice"
        f" or more in its days; it is used from {FEWEST_CASES} cases on, if its interval is no"
        f" wider than {WIDEST_INTERVAL:g}. It is the mean over waters that differ. A pass before or"
        " after most of a taxon has emerged counts as one that missed, so it is a chance over the"
        " taxon's days."
        if detection.own.value == detection.own.value
        else "The survey has no taxon yet that was found at a site searched twice or more in its"
        " days, so it has no estimate of its own."
    )
    return (
        f"Chance that one pass finds a taxon that is there: {number(detection.value)}{bounds},"
        f" {detection.source}. {own}",
        "The published chance, 0.49 to 0.75 a pass and 0.64 in the mean, is from one study of"
        " dragonflies (Anisoptera) on river banks in Wisconsin (DuBois 2015). It says nothing of"
        " ponds or of damselflies, which leave smaller skins. Passes are taken as independent of"
        " each other; they are not, so an absence is less sure than it looks.",
    )
