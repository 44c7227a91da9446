package exchange

import (
	"fmt"
	"slices"
	"strings"
)

// vocabulary is what words of a file may mean.
type vocabulary struct {
	words map[string]string // usual words, plain, and what they mean
	none  []string          // meanings that are not among the words
}

func (v vocabulary) accepted() []string {
	set := map[string]bool{}
	for _, w := range v.words {
		set[w] = true
	}
	for _, w := range v.none {
		set[w] = true
	}
	out := make([]string, 0, len(set))
	for w := range set {
		out = append(out, w)
	}
	slices.Sort(out)
	return out
}

func words(groups ...string) vocabulary {
	v := vocabulary{words: map[string]string{}}
	for _, g := range groups {
		meaning, list, _ := strings.Cut(g, ":")
		v.words[plain(meaning)] = meaning
		for _, w := range strings.Split(list, ",") {
			if w = plain(w); w != "" {
				v.words[w] = meaning
			}
		}
	}
	return v
}

var yesNo = words("yes:y,ja,oui,si,true,t,1,x,checked", "no:n,nein,non,false,f,0,unchecked")

// vocabularies are the words usually written. Common practice, no source.
var vocabularies = map[Field]vocabulary{
	FieldPlugsOut: yesNo,
	FieldRefused:  yesNo,
	FieldDirection: words("launching:launch,in,entering,enter,arriving,incoming,put in,pre launch",
		"leaving:out,exiting,exit,departing,leave,outgoing,take out,retrieving", "roadside:road,highway,check station", "other:"),
	FieldOutcome: words("launch:pass,passed,clean,clear,cleared,ok,go,allowed,allowed to launch,released",
		"fix_here:cleaned,hand cleaned,removed,hand removal,drained,fixed,clean on site,fix",
		"wash:decon,decontaminated,decontamination,hot wash,washed,hot water wash",
		"dry:drying,dry time,quarantine,dry hold,standing time,sent to dry",
		"hold:held,denied,not allowed,impound,impounded,refused entry,turned away,failed,fail"),
	FieldFound: words("none:no,n,nothing,0,clean,nil,false,not found", "water:standing water,wet", "mud:sediment,dirt,soil",
		"plant:plants,weed,weeds,vegetation,aquatic plants,plant fragments,milfoil",
		"attached_animal:mussel,mussels,zebra mussel,zebra mussels,quagga,quagga mussel,quagga mussels,attached animals",
		"loose_animal:snail,snails,animal,animals,fish,crayfish,invertebrates", "egg:eggs,seed,seeds,turion,turions",
		"bait:live bait,minnows", "other:debris"),
}

// notSaid are cells that say that nobody knows.
var notSaid = map[string]bool{
	"": true, "unknown": true, "unk": true, "n a": true, "na": true, "not sure": true, "not recorded": true, "not known": true, "null": true,
	"nan": true, "tbd": true, "didn t say": true, "not asked": true,
}

// word reads a cell of a closed vocabulary.
func (rd *reader) word(f Field) string {
	s := rd.told(f)
	if s == "" {
		return ""
	}
	v := vocabularies[f]
	if meaning, ok := lookup(rd.m.Words[f], v, s); ok {
		return meaning
	}
	rd.say(LevelLeftOut, f, strings.Join(v.accepted(), ", "), rd.wordFix(f, s, v))
	return ""
}

func lookup(own map[string]string, v vocabulary, s string) (string, bool) {
	for from, to := range own {
		if plain(from) == plain(s) {
			return to, true
		}
	}
	meaning, ok := v.words[plain(s)]
	return meaning, ok
}

func (rd *reader) wordFix(f Field, s string, v vocabulary) string {
	best, least := "", 3
	known := make([]string, 0, len(v.words))
	for w := range v.words {
		known = append(known, w)
	}
	slices.Sort(known)
	for _, w := range known {
		if d := slips(plain(s), w); d < least && d*3 <= len(w) {
			best, least = v.words[w], d
		}
	}
	if best != "" {
		return fmt.Sprintf("%s? then put it into words.%s", best, f)
	}
	return fmt.Sprintf("say in words.%s what it means", f)
}
