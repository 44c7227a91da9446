package thwart

// Zone is where on the rig a place is, in the order a round visits them.
type Zone string

// Zones.
const (
	ZoneTow     Zone = "tow"     // hitch, coupler, tongue, winch
	ZoneHull    Zone = "hull"    // outside of the craft
	ZoneTransom Zone = "transom" // stern, drive, intakes
	ZoneTrailer Zone = "trailer" // bunks, rollers, axle, lights
	ZoneAboard  Zone = "aboard"  // inside the craft
	ZoneGear    Zone = "gear"    // loose equipment
)

// Zones lists every zone in visiting order.
var Zones = []Zone{ZoneTow, ZoneHull, ZoneTransom, ZoneTrailer, ZoneAboard, ZoneGear}

// Part is a row of a wash table: places of one part are washed the same way.
type Part string

// Parts. Inside has no row in the published tables: it is emptied, wiped and dried by hand.
const (
	PartHull    Part = "hull"
	PartTrailer Part = "trailer"
	PartGimbal  Part = "gimbal" // sterndrive bellows and gimbal housing
	PartEngine  Part = "engine" // cooling passages
	PartBallast Part = "ballast"
	PartWell    Part = "well" // live well, bait well
	PartBilge   Part = "bilge"
	PartGear    Part = "gear"   // anchors, ropes, life jackets, paddles, loose gear
	PartInside  Part = "inside" // lockers, carpet, cockpit floor
)

// Parts lists every part in the order compartments-first work takes them.
var Parts = []Part{PartBilge, PartWell, PartBallast, PartEngine, PartGimbal, PartGear, PartInside, PartHull, PartTrailer}

// Posture is how low or high a person has to be to judge a place.
type Posture string

// Postures.
const (
	PostureStand  Posture = "stand"
	PostureCrouch Posture = "crouch"
	PostureUnder  Posture = "under" // head or arm under the craft, from the side, never beneath an unsupported load
	PostureAboard Posture = "aboard"
)

// Postures lists every posture, high to low.
var Postures = []Posture{PostureStand, PostureCrouch, PostureUnder, PostureAboard}

// Task is what a place asks for.
type Task string

// Tasks. The owner does what the word "owner" stands beside in the prompts: lowering a drive, running a pump.
const (
	TaskLook  Task = "look"
	TaskFeel  Task = "feel"
	TaskOpen  Task = "open"
	TaskDrain Task = "drain" // pull the plug, open the valve: water needs time to run, so this starts first
	TaskLower Task = "lower" // lower the drive fully so that it drains
	TaskRun   Task = "run"   // ask the owner to run the pump until it sucks air
	TaskTip   Task = "tip"
	TaskAsk   Task = "ask"
)

// Tasks lists every task.
var Tasks = []Task{TaskLook, TaskFeel, TaskOpen, TaskDrain, TaskLower, TaskRun, TaskTip, TaskAsk}

// Carriage is how an organism rides along.
type Carriage string

// Ways to ride along.
const (
	CarriedAttached Carriage = "attached"
	CarriedTangled  Carriage = "tangled"
	CarriedInWater  Carriage = "in_water"
	CarriedInMud    Carriage = "in_mud"
)

// Carriages lists every way.
var Carriages = []Carriage{CarriedAttached, CarriedTangled, CarriedInWater, CarriedInMud}

// Holding is how much lake water a place can keep after the plugs are out.
type Holding string

// Holdings.
const (
	HoldsNone Holding = "none"
	HoldsSome Holding = "some"
	HoldsLots Holding = "lots" // tens of litres or more while not drained
)

// Holdings lists every holding.
var Holdings = []Holding{HoldsNone, HoldsSome, HoldsLots}

// Place is one spot on craft, trailer or gear that a round stops at. Coordinates are metres on the rig: X aft from the
// bow (negative ahead of it), Y to starboard of the centreline, Z above the ground.
type Place struct {
	ID      string     `json:"id"`
	Name    string     `json:"name"`
	Zone    Zone       `json:"zone"`
	Part    Part       `json:"part"`
	XM      float64    `json:"xM"`
	YM      float64    `json:"yM"`
	ZM      float64    `json:"zM"`
	Posture Posture    `json:"posture"`
	Tasks   []Task     `json:"tasks"`
	Holds   Holding    `json:"holds"`
	Hidden  bool       `json:"hidden,omitempty"` // cannot be seen into: counts as wet, whatever is said
	Cloth   bool       `json:"cloth,omitempty"`  // rope, carpet, cloth: stays wet long after the skin of the craft is dry
	VolumeL float64    `json:"volumeL,omitempty"`
	Carries []Carriage `json:"carries"`
	Weight  float64    `json:"weight"`  // share of what rides along that is expected here, relative to the other places
	Seconds float64    `json:"seconds"` // usual time of a full look, feel and open
	Why     string     `json:"why"`     // what a steward should know about the place
	Source  string     `json:"source"`  // of the place as a place to look
	Known   string     `json:"known"`   // published, common practice or from memory
}

// Asks reports whether the place asks for the task.
func (p *Place) Asks(t Task) bool {
	for _, x := range p.Tasks {
		if x == t {
			return true
		}
	}
	return false
}

// Takes reports whether an organism carried in this way can ride here.
func (p *Place) Takes(c Carriage) bool {
	for _, x := range p.Carries {
		if x == c {
			return true
		}
	}
	return false
}
