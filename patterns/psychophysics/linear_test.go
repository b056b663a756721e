package psychophysics

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The factor of a random positive definite matrix gives the matrix back, its determinant by elimination, and solves.
func TestCholesky(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for n := 1; n <= 13; n++ {
		m := newMatrix(n)
		for range n + 3 {
			g := make([]float64, n)
			for i := range g {
				g[i] = r.NormFloat64() * float64(r.IntN(3)) // with zeros
			}
			m.outer(g, 0.5+r.Float64())
		}
		for i := range n {
			m.a[i*n+i] += 0.1
		}
		whole := make([][]float64, n) // the symmetric matrix
		for i := range whole {
			whole[i] = make([]float64, n)
			for j := range whole[i] {
				whole[i][j] = m.a[max(i, j)*n+min(i, j)]
			}
		}
		logdet, ok := m.cholesky()
		if !ok {
			t.Fatalf("%d: refused", n)
		}
		want := make([]float64, n)
		for i := range want {
			want[i] = r.NormFloat64()
		}
		b := make([]float64, n)
		for i := range b {
			for j := range want {
				b[i] += whole[i][j] * want[j]
			}
		}
		m.forward(b)
		m.backward(b)
		for i := range b {
			if math.Abs(b[i]-want[i]) > 1e-7 {
				t.Fatalf("%d: solution %v, want %v", n, b, want)
			}
		}
		if elimination := determinant(whole); math.Abs(logdet-math.Log(elimination)) > 1e-9 {
			t.Fatalf("%d: log determinant %g, by elimination %g", n, logdet, math.Log(elimination))
		}
	}
}

func determinant(m [][]float64) float64 {
	d := 1.0
	for i := range m {
		d *= m[i][i]
		for k := i + 1; k < len(m); k++ {
			f := m[k][i] / m[i][i]
			for j := i; j < len(m); j++ {
				m[k][j] -= f * m[i][j]
			}
		}
	}
	return d
}

func TestCholeskyRefuses(t *testing.T) {
	for _, a := range [][]float64{{0}, {-1}, {math.NaN()}, {1, 0, 2, 1}} {
		n := int(math.Sqrt(float64(len(a))))
		if _, ok := (matrix{n, append([]float64(nil), a...)}).cholesky(); ok {
			t.Errorf("%v counts as positive definite", a)
		}
	}
}
