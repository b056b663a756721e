package observer

import "image"

// Answer does a task, named as the automation contract names it, before the regions that the choices point at, in their order. It returns the index of
// the choice, or CantTell; and false, with CantTell, for a task that needs more than the frame (a setting, a reference) or that no viewer knows. p3 says
// that the frame holds colours of Display P3.
func (v *Viewer) Answer(task string, frame *image.RGBA, regions []image.Rectangle, p3 bool) (at int, known bool) {
	switch task {
	case "odd cell":
		return v.Odd(frame, regions), true
	case "odd quadrant":
		return v.Different(frame, regions), true
	case "mark":
		return v.OddColour(frame, regions, p3), true
	}
	if len(regions) < 2 {
		return CantTell, false
	}
	a, b := regions[0], regions[1]
	switch task {
	case "lighter":
		return v.Lighter(frame, a, b), true
	case "pinker":
		return v.Tinted(frame, a, b, PinkGreen), true
	case "yellower":
		return v.Tinted(frame, a, b, BlueYellow), true
	case "smoother":
		return v.Smoother(frame, a, b), true
	case "place lighter":
		return v.FarLighter(frame, a, b), true
	case "place pinker":
		return v.FarTinted(frame, a, b, PinkGreen), true
	case "place yellower":
		return v.FarTinted(frame, a, b, BlueYellow), true
	}
	return CantTell, false
}
