"""Make the two font files of this folder from the static fonts of the npm package
@expo-google-fonts/atkinson-hyperlegible-next 0.4.1 (SIL Open Font Licence 1.1), with fontTools 4.68:

    npm pack @expo-google-fonts/atkinson-hyperlegible-next@0.4.1 && tar xzf *.tgz
    python make_fonts.py package .

Latin is kept, and fraction figures are added, since the fonts carry none but halves and quarters:
the figures of the next heavier weight at 0.6 of their size, so that their stems match.
"""

import sys
from pathlib import Path

from fontTools.feaLib.builder import addOpenTypeFeaturesFromString
from fontTools.pens.transformPen import TransformPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.subset import Options, Subsetter, parse_unicodes
from fontTools.ttLib import TTFont

LATIN = (
    "20-7E,A0-24F,2C6-2DD,3A9,1E80-1E85,1E9E,1EF2-1EF3,2000-206F,20AC,2122,2212,2215,2044"
)
FIGURES = "zero one two three four five six seven eight nine".split()
SIZE = 0.6
BAR_INTO_FIGURES = 165  # font units
FEATURE = """
languagesystem DFLT dflt;
languagesystem latn dflt;
@plain = [{plain}]; @raised = [{raised}]; @low = [{low}];
feature frac {{
  lookup raise {{ sub @plain by @raised; }} raise;
  lookup lower {{ sub [fraction @low] @raised' by @low; }} lower;
  lookup bar {{ sub fraction by fraction.bar; }} bar;
}} frac;
"""


def add_fractions(font, heavier):
    capitals = font["OS/2"].sCapHeight
    source = heavier.getGlyphSet()
    for suffix, rise in ((".numr", capitals * (1 - SIZE)), (".dnom", 0)):
        for figure in FIGURES:
            pen = TTGlyphPen(source)
            source[figure].draw(TransformPen(pen, (SIZE, 0, 0, SIZE, 0, rise)))
            font["glyf"][figure + suffix] = pen.glyph()
            advance, left = heavier["hmtx"][figure]
            font["hmtx"][figure + suffix] = (round(advance * SIZE), round(left * SIZE))
    # The font's own slash stands apart from its neighbours; between raised and low figures it leans in.
    advance, left = font["hmtx"]["fraction"]
    pen = TTGlyphPen(None)
    font.getGlyphSet()["fraction"].draw(TransformPen(pen, (1, 0, 0, 1, -BAR_INTO_FIGURES, 0)))
    font["glyf"]["fraction.bar"] = pen.glyph()
    font["hmtx"]["fraction.bar"] = (advance - 2 * BAR_INTO_FIGURES, left - BAR_INTO_FIGURES)
    font.setGlyphOrder(font["glyf"].glyphOrder)
    names = {
        "plain": " ".join(FIGURES),
        "raised": " ".join(f + ".numr" for f in FIGURES),
        "low": " ".join(f + ".dnom" for f in FIGURES),
    }
    addOpenTypeFeaturesFromString(font, FEATURE.format(**names), tables=["GSUB"])


def main(package, out):
    find = lambda weight: TTFont(next(Path(package, weight).glob("*.ttf")), recalcTimestamp=False)
    for name, weight, next_heavier in (
        ("Regular", "400Regular", "600SemiBold"),
        ("Bold", "700Bold", "800ExtraBold"),
    ):
        font = find(weight)
        options = Options()
        options.layout_features = ["kern", "mark", "mkmk"]
        options.hinting = False
        options.glyph_names = True
        options.name_IDs = ["*"]
        subsetter = Subsetter(options)
        subsetter.populate(unicodes=parse_unicodes(LATIN))
        subsetter.subset(font)
        add_fractions(font, find(next_heavier))
        font.save(Path(out, f"AtkinsonHyperlegibleNext-{name}.ttf"))


main(*sys.argv[1:])
