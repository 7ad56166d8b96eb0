package report

import (
	"strconv"
	"strings"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"untrod/coverage"
)

const (
	rowStep vg.Length = 13.5
	swatch  vg.Length = 18 // width of a sample of colour
)

// headline says it all; below it stands what matters less.
func headline(r *coverage.Result) (line, below string) {
	logged, gaps := percent(r.AsLoggedPercent)+" swept as logged", count(len(r.Untrodden()), "gap")
	if c := r.Certainty; c != nil {
		return "At least " + atLeast(c.AtLeastPercent) + " swept, most likely " + percent(c.ExpectedPercent), logged + ", " + gaps
	}
	return logged + ", " + gaps, ""
}

const belowRoom vg.Length = 14 // for the line below the headline

func (s *sheet) title(c draw.Canvas, x vg.Length) {
	name, room := siteName(s.r), s.page.width-margin-x
	st := words(serifBold, 22, ink)
	for st.Font.Size > 14 && widthOf(st, name) > room {
		st.Font.Size--
	}
	y := s.page.height - margin - 14
	write(c, st, x, y, shorten(st, name, room))
	line, below := headline(s.r)
	write(c, words(sansBold, 12.5, ink), x, y-19, line)
	if below != "" {
		write(c, words(sans, 9.5, softInk), x, y-19-belowRoom, below)
	}
}

// column is a part of the page filled from the top.
type column struct {
	draw.Canvas
	y vg.Length // baseline of the next row
}

func (c *column) down(d vg.Length) { c.y -= d }

// part is a piece of box that starts dx from its left.
func part(c draw.Canvas, box vg.Rectangle, dx, width vg.Length) *column {
	box.Min.X += dx
	box.Max.X = min(box.Max.X, box.Min.X+width)
	return &column{draw.Canvas{Canvas: c.Canvas, Rectangle: box}, box.Max.Y - 8}
}

// legend explains the map and lists the gaps, beside or below the map, which
// lies on ground at so many points to a metre.
func (s *sheet) legend(ground draw.Canvas, points vg.Length) {
	s.layLegend(ground, points, s.key, s.gapList)
}

// layLegend puts the key, a list, the scale bar and the notes where the page has room
// for them. list is told how low it may reach.
func (s *sheet) layLegend(ground draw.Canvas, points vg.Length, key func(*column), list func(*column, vg.Length)) {
	bar, box := scaleBar{s.u, float64(points)}, s.page.legendBox
	if s.page.wide {
		box.Min.X = ground.Min.X
		key(part(ground, box, 0, 196))
		list(part(ground, box, 222, 244), box.Min.Y)
		last := part(ground, box, 492, box.Size().X)
		last.down(12)
		bar.draw(last)
		s.notes(last)
		return
	}
	box.Max.Y, box.Min.Y = ground.Max.Y, ground.Min.Y
	at := part(ground, box, 0, box.Size().X)
	foot := box.Min.Y + s.notesHeight(at)
	key(at)
	at.down(10)
	list(at, foot+40)
	at.y = foot + 14
	bar.draw(at)
	s.notes(at)
}

// key names every colour and sign in use, with its share of the ground.
func (s *sheet) key(c *column) {
	if s.r.Certainty != nil {
		s.stateKey(c)
	} else {
		s.passKey(c)
	}
	if len(s.r.Local.Keepouts) > 0 {
		s.row(c, "keep-out", "", func(r vg.Rectangle) { hatched(c.Canvas, r) })
	}
	edge := "edge of the site"
	if s.r.OwnOutline {
		edge = "edge: drawn round what was searched"
	}
	s.row(c, edge, "", func(r vg.Rectangle) {
		y := (r.Min.Y + r.Max.Y) / 2
		c.StrokeLine2(line(1.5, ink), r.Min.X, y, r.Max.X, y)
	})
	for _, mark := range []bool{false, true} {
		for _, lm := range s.r.Local.Landmarks {
			if lm.Mark == mark && lm.Shape == 0 {
				s.row(c, map[bool]string{false: "landmark", true: "mark: its place is known well"}[mark], "",
					func(r vg.Rectangle) { symbol(c.Canvas, middlePoint(r), mark) })
				break
			}
		}
	}
}

func (s *sheet) passKey(c *column) {
	total := 0
	for _, n := range s.ground.cells {
		total += n
	}
	for _, cl := range []class{gap, sliver, once, twice, more} {
		share := ""
		if total > 0 {
			share = percent(100 * float64(s.ground.cells[cl]) / float64(total))
		}
		s.row(c, classWords[cl], share, func(r vg.Rectangle) { patch(c.Canvas, r, cl, false) })
	}
}

func (s *sheet) stateKey(c *column) {
	t := s.r.Certainty
	for _, k := range []struct {
		class
		share float64
	}{{untrodden, t.UntroddenPercent}, {doubt, t.DoubtPercent}, {surely, t.SurelyPercent}} {
		s.row(c, stateWords[k.class], percent(k.share), func(r vg.Rectangle) { patch(c.Canvas, r, k.class, k.class == doubt) })
	}
	if len(s.r.Untrodden()) > 0 {
		s.row(c, "gap: worth a walk", "", func(r vg.Rectangle) { frame(c.Canvas, r, line(0.9, gapEdge)) })
	}
}

// patch is a sample of a class.
func patch(c draw.Canvas, r vg.Rectangle, cl class, dotted bool) {
	fill(c, r, classColour[cl])
	if dotted {
		stipple(c, r, func(vg.Point) bool { return true })
	}
	frame(c, r, line(0.5, softInk))
}

func (s *sheet) row(c *column, what, share string, sample func(vg.Rectangle)) {
	sample(vg.Rectangle{Min: vg.Point{X: c.Min.X, Y: c.y - 2}, Max: vg.Point{X: c.Min.X + swatch, Y: c.y + 7.5}})
	write(c.Canvas, words(sans, 8.5, ink), c.Min.X+swatch+6, c.y, what)
	write(c.Canvas, right(words(sans, 8.5, ink)), c.Max.X, c.y, share)
	c.down(rowStep)
}

func middlePoint(r vg.Rectangle) vg.Point {
	return vg.Point{X: (r.Min.X + r.Max.X) / 2, Y: (r.Min.Y + r.Max.Y) / 2}
}

func hatched(c draw.Canvas, r vg.Rectangle) {
	fill(c, r, keepout)
	pts := []vg.Point{r.Min, {X: r.Max.X, Y: r.Min.Y}, r.Max, {X: r.Min.X, Y: r.Max.Y}, r.Min}
	for _, h := range chords([][]vg.Point{pts}, 4.2, hatchAngle) {
		c.StrokeLines(line(0.5, keepoutInk), h)
	}
	frame(c, r, line(0.8, keepoutInk))
}

const gapStep vg.Length = 11.5 // between rows of the list of gaps

// gapList lists the largest gaps, as many as have room above floor, in as many
// columns as their figures leave room for.
func (s *sheet) gapList(c *column, floor vg.Length) {
	gaps := s.r.Untrodden()
	if len(gaps) == 0 {
		return
	}
	heading := "Gaps, largest first: area, widest"
	if s.r.Certainty != nil {
		heading = "Gaps, most untrodden first: area, widest"
	}
	write(c.Canvas, words(sansBold, 8.5, ink), c.Min.X, c.y, heading)
	c.down(rowStep)
	num, txt := right(words(sansBold, 8, gapEdge)), right(words(sans, 8, ink))
	area, widest := s.gapFigures(func(t string) vg.Length { return widthOf(txt, t) })
	area += 20 // where the areas end
	widest += area + 8
	step := widest + 14
	perColumn := max(int((c.y-floor)/gapStep)+1, 1)
	room := perColumn * max(1, int((c.Size().X+14)/step))
	shown := gaps
	if len(shown) > room {
		shown = shown[:room-1]
	}
	at := func(i int) (x, y vg.Length) {
		return c.Min.X + vg.Length(i/perColumn)*step, c.y - vg.Length(i%perColumn)*gapStep
	}
	for i, g := range shown {
		x, y := at(i)
		write(c.Canvas, num, x+13, y, strconv.Itoa(g.ID))
		write(c.Canvas, txt, x+area, y, squared(s.u.area(g.AreaM2)))
		write(c.Canvas, txt, x+widest, y, s.u.length(g.WidestM))
	}
	if n := len(gaps) - len(shown); n > 0 {
		x, y := at(len(shown))
		write(c.Canvas, words(sans, 8, softInk), x+6, y, "and "+grouped(float64(n), 0)+" more")
	}
}

// gapFigures are the widths of the widest figures in the list of gaps.
func (s *sheet) gapFigures(width func(string) vg.Length) (area, widest vg.Length) {
	gaps := s.r.Untrodden()
	for _, g := range gaps[:min(len(gaps), 2*maxNumbers)] {
		area = max(area, width(squared(s.u.area(g.AreaM2))))
		widest = max(widest, width(s.u.length(g.WidestM)))
	}
	return area, widest
}

// squared puts the raised figure where print has one.
func squared(s string) string { return strings.Replace(s, "m2", "m²", 1) }
