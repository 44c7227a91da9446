package practice

import "thwart"

// decoy is something harmless that is taken for something else, and how to tell. All are common practice, no source.
type decoy struct {
	name, like, form, seen, felt, tell string
	parts                              []thwart.Part // where it belongs; empty = anywhere
	sizeMM                             float64
}

// like says what it is taken for: plant, attached, mud or water.
var decoys = []decoy{
	{"grass cuttings", "plant", "strand", "thin green blades, dry and flat", "", "Lawn grass has straight veins and keeps its shape. A water plant hangs limp out of water and has whorled or lacy leaves.", []thwart.Part{thwart.PartTrailer, thwart.PartHull, thwart.PartInside}, 60},
	{"a green thread of rope", "plant", "thread", "a green frayed end", "smooth, springy", "Plastic springs back and does not tear. A stem breaks.", []thwart.Part{thwart.PartGear, thwart.PartTrailer, thwart.PartHull}, 50},
	{"a tree leaf", "plant", "leaf", "one brown leaf, dry", "", "A whole leaf with a stalk and a net of veins comes from the shore. Take it off all the same: it costs nothing.", nil, 45},
	{"a chip in the paint", "attached", "blob", "a pale oval mark", "a sharp edge, nothing that stands out", "A chip lies in the surface. A mussel stands out from it and holds by threads.", []thwart.Part{thwart.PartHull, thwart.PartGimbal}, 6},
	{"a blob of sealant", "attached", "blob", "a pale lump beside a fitting", "rubbery, part of the seam", "Sealant gives under the nail and runs along the joint. A shell is hard and has two halves.", []thwart.Part{thwart.PartHull, thwart.PartBilge, thwart.PartGimbal}, 8},
	{"road grit", "attached", "grit", "dark specks", "loose grains that wipe away", "Grit wipes off. A settled mussel stays under the thumb and has to be scraped.", []thwart.Part{thwart.PartTrailer, thwart.PartHull}, 1},
	{"antifouling that flakes", "attached", "grit", "a rough patch of one colour", "rough all over, like old paint", "Paint is rough over the whole patch. Young mussels are single grains with smooth hull between them.", []thwart.Part{thwart.PartHull}, 2},
	{"a land snail's empty shell", "attached", "shell", "a thin round shell, bleached", "thin, it crushes", "A coiled shell is a snail, not a mussel. Note it as not told apart if you are not sure.", []thwart.Part{thwart.PartTrailer, thwart.PartHull, thwart.PartInside}, 9},
	{"a smear of grease", "mud", "smear", "a dark smear", "slippery, no grains", "Grease smears and does not dry. Mud has grains and crumbles.", []thwart.Part{thwart.PartTrailer, thwart.PartHull}, 40},
	{"a rust stain", "mud", "smear", "a brown streak below a bolt", "smooth", "A stain cannot be wiped off and has no thickness.", []thwart.Part{thwart.PartTrailer, thwart.PartHull, thwart.PartBilge}, 60},
	{"dew on the paint", "water", "drop", "fine even drops on the outside", "wet on the outside only", "Dew lies evenly and only outside. Lake water runs out of something.", []thwart.Part{thwart.PartHull}, 2},
}
