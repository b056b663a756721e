package screen

var Greys = greys
