package coverage

// Raw gives the study the percentages the figures were judged from.
func (c *Certainty) Raw() (folded, plain, again []float64) {
	return c.raw.folded, c.raw.plain, c.raw.again
}
