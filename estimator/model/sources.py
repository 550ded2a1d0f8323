"""Of the sheet Factors: where they come from, and which of them were only remembered."""

from __future__ import annotations

from estimator.rows import Chapter

SOURCES = Chapter()
SOURCES.notes(
    "Sources: published, read in transcriptions or quotations",
    "Full tables with edition and how each was obtained stand in shared/reference of the project.",
    "Dressed sizes: DOC PS 20 American Softwood Lumber Standard.",
    "Presumptive bearing: IRC Table R401.4.1, IBC Table 1806.2 (2012).",
    "Steel bars: ASTM A615. Span ratings of sheets: PS 1 and PS 2.",
    "Hand digging, filling and hauling: Guild of Project Controls; carpentry: Dagostino and Peterson, Estimating in Building Construction, Fig. 13.55.",
    "How far off hours, prices and soil may be, where a source stands beside it above: the same, Menlo Academy, NAHB on indices of BLS, UFC 3-220-20; ranges are derived from them.",
    "Weights of crushed stone and soils: US Army TM 9-2320-366-10-1 Table 2-15.",
    "Span tables of IRC R502.3.1 for spruce-pine-fir; the method (NDS allowable stress design) reproduces them to the inch.",
)
SOURCES.notes(
    "Sources: from memory: check before you rely on them",
    "Swell and shrink other than sand: FM 5-434 Table 1-2. Incising and wet-service factors: NDS. Wind pressure: ASCE 7. Screw spacing, and nails that join plies: IRC Table R602.3(1). Use categories of treated wood: AWPA U1. Vents under floors: IRC R408.1. Eaves of a waiver of frost: IRC R403.1.4.1. Design values of most species: NDS Supplement. Sag under total load: IBC Table 1604.3. Laps of steel in slabs: ACI 318. Overlap of fabric: AASHTO M288. Wood under the notch of a stringer, and how far apart they stand: AWC DCA 6. Span ratings of sheets without tongue: PS 1 and PS 2.{| Factors that bring strength classes to allowable stresses: EN 1990, EN 1995-1-1.}",
)
SOURCES.notes(
    "Sources: common practice, no source",
    "Limits of exposed timber, barrow times, setting timbers and skids, short-load limit, screws of timbers, waste and clean-up, skirting, adhesive coverage, ramp slope, stack heights, spread of load through stone, soft spots under skids, hold of ground anchors, air under floors, weights of light, medium and heavy buildings, how far off all else may be.",
)
SOURCES.notes(
    "Sources: local",
    "Frost depth, snow, wind, permit areas, setbacks and notice days are yours to type on Job. Local codes and licensed practice govern.{| Codes and standards of the United States are named as such: ask what holds where you build.}",
)
