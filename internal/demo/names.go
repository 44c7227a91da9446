package demo

import "math/rand/v2"

// The beginnings and endings that names of waters are put together from. They are our own; a name that happens to be on a
// map somewhere means nothing.
var (
	nameBegins = []string{
		"Brindle", "Corran", "Dunnel", "Ferrin", "Goslen", "Haverel", "Issel", "Jorrick", "Kestle", "Larrow", "Mottle",
		"Nettle", "Orrin", "Pellow", "Quillow", "Rushel", "Saffer", "Tansel", "Umbrel", "Vetchel", "Wimble", "Yarrel",
		"Tindle", "Bramlin", "Cressel", "Dapple", "Fescue", "Hobbin", "Murrel", "Sallow", "Thrissel", "Ashel", "Cobbin",
		"Drissel", "Eskel", "Furrin", "Garrow", "Heddle", "Lintel", "Oxel",
	}
	nameEnds = []string{
		"holt", "mere", "wick", "garth", "fen", "combe", "stead", "weir", "brake", "hollow", "shaw", "low", "strand", "cote",
	}
	launchBegins = []string{
		"Fallow", "Gannet", "Hazel", "Ibis", "Juniper", "Kestrel", "Lapwing", "Mallow", "Nuthatch", "Osier", "Plover",
		"Quince", "Redshank", "Sedge", "Teasel", "Umber", "Vetch", "Willet", "Yarrow", "Aspen", "Bracken", "Curlew",
		"Dabchick", "Elder", "Furze", "Grebe", "Harrier", "Ironwood", "Jackdaw", "Knapweed", "Linnet", "Merganser",
		"Nightjar", "Otter", "Pintail", "Quail", "Rowan", "Siskin", "Turnstone", "Upland", "Viburnum", "Wagtail", "Yew",
		"Avocet", "Burdock", "Campion", "Dunlin",
	}
	launchEnds = []string{"Landing", "Ramp", "Cove", "Point", "Beach", "Access", "Slip"}
	firstNames = []string{
		"Ines", "Tobias", "Wren", "Amadu", "Birgit", "Calla", "Dov", "Edda", "Farid", "Greer", "Hollis", "Iwan", "Juna",
		"Keziah", "Lorcan", "Mirela", "Nuri", "Oriel", "Piet", "Quilla", "Rafe", "Sunniva", "Tamsin", "Ulf",
	}
	technicianNames = []string{"Odo", "Brisa", "Kaspar"}
)

// namer puts names together and gives none twice.
type namer struct {
	r    *rand.Rand
	used map[string]bool
}

func (n *namer) from(begins, ends []string, between string) string {
	for {
		begin, end := begins[n.r.IntN(len(begins))], ends[n.r.IntN(len(ends))]
		// A beginning names one thing only: two waters that sound alike get mixed up.
		if n.used[begin] {
			continue
		}
		n.used[begin] = true
		return begin + between + end
	}
}
