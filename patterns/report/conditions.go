package report

// Conditions are what is known about screen, browser and room. Empty means not told.
type Conditions struct {
	Screen string `json:"screen,omitempty"` // name given by the viewer
	Mode   string `json:"mode,omitempty"`   // name of the mode it is in, where it has several
	Viewer string `json:"viewer,omitempty"`

	Started int64 `json:"started"` // ms since 1970 UTC
	Ended   int64 `json:"ended"`

	Width      int     `json:"width"`  // of the canvas, device pixels
	Height     int     `json:"height"` //
	PixelRatio float64 `json:"pixelRatio"`
	Exact      bool    `json:"exact"` // one buffer pixel was one device pixel, as far as the page can tell
	FullScreen bool    `json:"fullScreen,omitempty"`

	Gamut        string  `json:"gamut,omitempty"`        // widest of srgb, p3, rec2020 that the browser claims
	DynamicRange string  `json:"dynamicRange,omitempty"` // standard or high
	ColorDepth   int     `json:"colorDepth,omitempty"`   // bits, as the browser claims
	ForcedColors bool    `json:"forcedColors,omitempty"`
	CanvasNoise  bool    `json:"canvasNoise,omitempty"` // reading the canvas back gave other codes than were written
	Timer        float64 `json:"timer,omitempty"`       // ms, the clock's step
	Browser      string  `json:"browser,omitempty"`     // engine and major version
	Profile      string  `json:"profile,omitempty"`     // what the browser made of a picture with swapped channels in its profile: honoured, ignored
	Twin         string  `json:"twin,omitempty"`        // whether that picture and its plain twin looked the same: yes, no
	Zoom         float64 `json:"zoom,omitempty"`        // of the page, where it can be told; 1 is none
	WideCanvas   bool    `json:"wideCanvas,omitempty"`  // the canvas takes colours of Display P3

	// Settings says of warm, zoom, night, hdr and auto whether the screen is set as asked: yes, no, unknown. So night: yes is a night tint switched off.
	Settings map[string]string `json:"settings,omitempty"`
	Room     string            `json:"room,omitempty"`     // dark, dim, normal, bright
	Distance float64           `json:"distance,omitempty"` // cm from eye to screen
	Pitch    float64           `json:"pitch,omitempty"`    // device pixels per mm, from the card
	Melt     string            `json:"melt,omitempty"`     // whether fine lines melt into grey at the viewing distance: yes, no
	Even     string            `json:"even,omitempty"`     // whether fine lines look even: yes, no
	Vision   string            `json:"vision,omitempty"`   // the viewer's own note on colour vision

	Disturbances []string `json:"disturbances,omitempty"`
}
