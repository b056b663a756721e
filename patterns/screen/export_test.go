package screen

var (
	Greys   = greys
	Shifted = shifted
)
