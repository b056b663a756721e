// Package colour holds colorimetric values of the CIE 1931 2° observer, the whites they are seen against, and RGB spaces.
//
// XYZ is relative, with Y 1 at the white, or absolute in cd/m²: whoever makes one says which, and the conversions hold for both as long as
// a value and its white are of one kind. Spectra, other observers and appearance beyond a von Kries adaptation are not here.
//
// go-colorful stays behind this package, for L*a*b* against a given white. Its own white, hues, Fast functions and CIEDE2000 are not used:
// upstream_test.go says what each does and fails when upstream mends it.
package colour
