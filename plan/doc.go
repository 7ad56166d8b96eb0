// Package plan works out the next visit: which ground to walk, in what order, along
// which lines, and how to find those lines on the ground. Start at [Make].
//
// [Tour] chooses and orders stops within the time there is, [Ways] walks between them
// round keep-outs. Lengths and places are metres of the site's grid.Frame, times are
// seconds. The package opens no files, reads no clock and prints nothing; what is
// random is seeded.
package plan
