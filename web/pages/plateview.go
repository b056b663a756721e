package pages

// Plates is the list of patterns that are shown on their own.
type Plates struct {
	List    []PlateEntry
	Buttons []Button
}

// A PlateEntry is a pattern of the list.
type PlateEntry struct {
	Name    string // what it is shown by
	Title   string
	Look    string // what to look for
	Caution string // what can mislead or disturb; may be empty
}

// A Plate is what the line on a pattern says.
type Plate struct {
	Title  string
	Levels []PlateLevel
	Chosen int    // the level that the keys move
	Screen string // the action that leads into full screen or out of it, "fullscreen" or "windowed"; empty where there is none
	Said   string // about the last thing done
	Link   string // to exactly this
}

// A PlateLevel is one level as it is.
type PlateLevel struct {
	Label, Value string
	Least, Most  bool // it goes no lower, no higher
}
