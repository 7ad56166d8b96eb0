package coverage

import "math"

// RandomSearch is the share of the ground that wandering at random covers with
// coverage factor c = effort / area: 1 - exp(-c). Source: Koopman 1946,
// "Search and Screening", OEG Report 56 (1980 edition, section 3.2).
func RandomSearch(c float64) float64 { return -math.Expm1(-c) }
