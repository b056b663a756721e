package colour

// A Matrix is a linear map of three values, by rows.
type Matrix [3][3]float64

// Apply returns m times the column c.
func (m Matrix) Apply(c XYZ) XYZ {
	v := m.column([3]float64{c.X, c.Y, c.Z})
	return XYZ{v[0], v[1], v[2]}
}

// Times returns the map that does n first and then m.
func (m Matrix) Times(n Matrix) Matrix {
	var p Matrix
	for j := range 3 {
		c := m.column([3]float64{n[0][j], n[1][j], n[2][j]})
		for i := range 3 {
			p[i][j] = c[i]
		}
	}
	return p
}

// Inverse returns the map that undoes m, and false when there is none.
func (m Matrix) Inverse() (Matrix, bool) {
	var n Matrix
	for i := range 3 {
		for j := range 3 {
			// The cofactor of row j, column i: cyclic indices carry the sign.
			a, b := (j+1)%3, (j+2)%3
			c, d := (i+1)%3, (i+2)%3
			n[i][j] = float64(m[a][c]*m[b][d]) - float64(m[a][d]*m[b][c])
		}
	}
	det := float64(m[0][0]*n[0][0]) + float64(m[0][1]*n[1][0]) + float64(m[0][2]*n[2][0])
	if det == 0 || det != det {
		return Matrix{}, false
	}
	for i := range 3 {
		for j := range 3 {
			n[i][j] /= det
		}
	}
	return n, true
}

func (m Matrix) column(v [3]float64) [3]float64 {
	var p [3]float64
	for i := range 3 {
		p[i] = float64(m[i][0]*v[0]) + float64(m[i][1]*v[1]) + float64(m[i][2]*v[2])
	}
	return p
}
