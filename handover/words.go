package handover

import "strings"

// words are those of the trade that an order may hold; each travels as its number, from 1. The list only ever grows at its end: a phone of
// last month reads the numbers of today, and a word it does not know yet is no number it has. A word that is missing travels in letters.
var words = strings.Fields(`
launching leaving roadside other day_use moored outboard outboard_jet sterndrive inboard inboard_jet pod
mud_motor trolling_bow trolling_transom hand ballast_tank ballast_bag live_well bait_well bilge locker tank
bunk roller cradle none antifouling water mud plant attached_animal loose_animal egg bait alive dead mixedLot
uncertain notAssessed part all certain likely unsure 1 2-10 11-100 >100 open_aluminium_fishing bass_boat
runabout cabin_cruiser pontoon wake_boat sailboat_centreboard sailboat_keel personal_watercraft canoe_kayak
paddleboard jon_duck_boat houseboat raft_drift_boat row_utility inflatable float_tube seaplane_floats
dock_or_lift anchor_and_rope dock_lines life_jackets throwable_float paddles skis_boards tow_tube_rope nets
waders_boots bait_bucket downriggers fishing_line decoys cooler wetsuit_dive_gear fenders cover_tarp
push_pole_anchor stringers_traps planer_boards portable_pump bailer zebra_mussel quagga_mussel dreissenid
golden_mussel spiny_water_flea fishhook_water_flea eurasian_watermilfoil variable_leaf_watermilfoil
curly_leaf_pondweed hydrilla starry_stonewort fanwort water_chestnut new_zealand_mudsnail asian_clam
banded_mystery_snail rusty_crayfish round_goby brittle_naiad european_frogbit parrotfeather didymo vhs_virus
japanese_mystery_snail faucet_snail swamp_stonecrop adult bulbil cell fragment juvenile larva resting_egg
seed tuber turion virus
`)

// number is the number of a word, from 1; 0 where it has none. The list is short and an order holds few words, so it is gone through.
func number(word string) uint64 {
	for i, w := range words {
		if w == word {
			return uint64(i + 1)
		}
	}
	return 0
}
