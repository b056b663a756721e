package colour

// bradford is the cone-like response of Lam (1985) as ICC.1 annex E prints it.
var bradford = Matrix{
	{0.8951, 0.2664, -0.1614},
	{-0.7502, 1.7135, 0.0367},
	{0.0389, -0.0685, 1.0296},
}

// Bradford returns the linear Bradford adaptation: the map that takes what is seen against one white to what looks alike against another.
// Both whites are tristimulus values of one kind, with no response of 0, which no real white has.
func Bradford(from, to XYZ) Matrix {
	back, _ := bradford.Inverse()
	f, t := bradford.Apply(from), bradford.Apply(to)
	return back.Times(Matrix{{t.X / f.X}, {0, t.Y / f.Y}, {0, 0, t.Z / f.Z}}).Times(bradford)
}
