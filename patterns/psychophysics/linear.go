package psychophysics

import "math"

// A matrix is square and dense, row by row.
type matrix struct {
	n int
	a []float64
}

func newMatrix(n int) matrix { return matrix{n, make([]float64, n*n)} }

func (m matrix) row(i int) []float64 { return m.a[i*m.n : (i+1)*m.n] }

// outer adds w g gᵀ to the lower triangle.
func (m matrix) outer(g []float64, w float64) {
	for i, gi := range g {
		if gi == 0 {
			continue
		}
		k := w * gi
		row := m.row(i)
		for j := 0; j <= i; j++ {
			row[j] += float64(k * g[j])
		}
	}
}

// cholesky turns the lower triangle of a positive definite m into L with m = L Lᵀ, and returns log|m|, or false if m is not positive definite.
func (m matrix) cholesky() (logdet float64, ok bool) {
	for i := range m.n {
		ri := m.row(i)
		for j := 0; j <= i; j++ {
			rj := m.row(j)
			s := ri[j]
			for k := 0; k < j; k++ {
				s -= float64(ri[k] * rj[k])
			}
			if i != j {
				ri[j] = s / rj[j]
				continue
			}
			if !(s > 0) {
				return 0, false
			}
			ri[i] = math.Sqrt(s)
			logdet += 2 * math.Log(ri[i])
		}
	}
	return logdet, true
}

// forward solves L x = b in place, m holding L.
func (m matrix) forward(b []float64) {
	for i := range m.n {
		row := m.row(i)
		s := b[i]
		for k := 0; k < i; k++ {
			s -= float64(row[k] * b[k])
		}
		b[i] = s / row[i]
	}
}

// backward solves Lᵀ x = b in place, m holding L.
func (m matrix) backward(b []float64) {
	for i := m.n - 1; i >= 0; i-- {
		s := b[i]
		for k := i + 1; k < m.n; k++ {
			s -= float64(m.a[k*m.n+i] * b[k])
		}
		b[i] = s / m.a[i*m.n+i]
	}
}
