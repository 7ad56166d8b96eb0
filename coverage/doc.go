// Package coverage works out what ground was swept: it moves the swath along
// the searching legs of every session, counts passes and seconds for each cell,
// compares the effort with search theory, and finds the gaps.
//
// Start at [Assess], the one pipeline; the engine is in sweep.go. Everything is
// in metres of the site's grid.Frame. Positions are taken as logged: receiver
// error is not allowed for. The package opens no files and prints nothing.
package coverage
