package practice

import (
	"thwart"
	"thwart/tongue"
)

// decoy is something harmless that is taken for something else, and how to tell. All are common practice, no source.
type decoy struct {
	name, seen, felt, tell tongue.Text
	like, form             string
	parts                  []thwart.Part // where it belongs; empty = anywhere
	sizeMM                 float64
}

// like says what it is taken for: plant, attached, mud or water.
var decoys = []decoy{
	{"grass cuttings", "thin green blades, dry and flat", "", "Lawn grass has straight veins and keeps its shape. A water plant hangs limp out of water and has whorled or lacy leaves.", "plant", "strand", []thwart.Part{thwart.PartTrailer, thwart.PartHull, thwart.PartInside}, 60},
	{"a green thread of rope", "a green frayed end", "smooth, springy", "Plastic springs back and does not tear. A stem breaks.", "plant", "thread", []thwart.Part{thwart.PartGear, thwart.PartTrailer, thwart.PartHull}, 50},
	{"a tree leaf", "one brown leaf, dry", "", "A whole leaf with a stalk and a net of veins comes from the shore. Take it off all the same: it costs nothing.", "plant", "leaf", nil, 45},
	{"a chip in the paint", "a pale oval mark", "a sharp edge, nothing that stands out", "A chip lies in the surface. A mussel stands out from it and holds by threads.", "attached", "blob", []thwart.Part{thwart.PartHull, thwart.PartGimbal}, 6},
	{"a blob of sealant", "a pale lump beside a fitting", "rubbery, part of the seam", "Sealant gives under the nail and runs along the joint. A shell is hard and has two halves.", "attached", "blob", []thwart.Part{thwart.PartHull, thwart.PartBilge, thwart.PartGimbal}, 8},
	{"road grit", "dark specks", "loose grains that wipe away", "Grit wipes off. A settled mussel stays under the thumb and has to be scraped.", "attached", "grit", []thwart.Part{thwart.PartTrailer, thwart.PartHull}, 1},
	{"antifouling that flakes", "a rough patch of one colour", "rough all over, like old paint", "Paint is rough over the whole patch. Young mussels are single grains with smooth hull between them.", "attached", "grit", []thwart.Part{thwart.PartHull}, 2},
	{"a land snail's empty shell", "a thin round shell, bleached", "thin, it crushes", "A coiled shell is a snail, not a mussel. Note it as not told apart if you are not sure.", "attached", "shell", []thwart.Part{thwart.PartTrailer, thwart.PartHull, thwart.PartInside}, 9},
	{"a smear of grease", "a dark smear", "slippery, no grains", "Grease smears and does not dry. Mud has grains and crumbles.", "mud", "smear", []thwart.Part{thwart.PartTrailer, thwart.PartHull}, 40},
	{"a rust stain", "a brown streak below a bolt", "smooth", "A stain cannot be wiped off and has no thickness.", "mud", "smear", []thwart.Part{thwart.PartTrailer, thwart.PartHull, thwart.PartBilge}, 60},
	{"dew on the paint", "fine even drops on the outside", "wet on the outside only", "Dew lies evenly and only outside. Lake water runs out of something.", "water", "drop", []thwart.Part{thwart.PartHull}, 2},
}
