// Package difference holds colour differences on CIE 1976 L*a*b*.
//
// Both values must be against one white. All three are for patches with a shared edge in good light; none was made for large
// differences, nor for one pixel.
package difference

func sq(x float64) float64 { return x * x }
