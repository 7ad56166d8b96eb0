package plan

import (
	"container/heap"
	"math"
	"slices"

	"untrod/grid"
)

// wayNode is a corner of a grown keep-out that points away from it.
type wayNode struct {
	at                 grid.XY // clearM outside the corner
	before, here, next grid.XY // the corner and its neighbours on the ring
	region             int
	looked             bool
	seen               []waySight // the nodes in sight, once looked
}

// waySight is a node in sight and how far off it is, in metres.
type waySight struct {
	node int32
	d    float64
}

// cleared is corner b moved out so that it lies clearM from the sides a-b and b-c,
// which have the keep-out on their left.
func cleared(a, b, c grid.XY) grid.XY {
	d1, d2 := dist(a, b), dist(b, c)
	n1 := grid.XY{X: (b.Y - a.Y) / d1, Y: (a.X - b.X) / d1}
	n2 := grid.XY{X: (c.Y - b.Y) / d2, Y: (b.X - c.X) / d2}
	open := 1 + float64(n1.X*n2.X) + float64(n1.Y*n2.Y)
	k := clearM / max(open, 1e-6) // a needle's point moves a millimetre
	return grid.XY{X: b.X + float64(k*(n1.X+n2.X)), Y: b.Y + float64(k*(n1.Y+n2.Y))}
}

func edgesOf(rings []wayRing) []wayEdge {
	var out []wayEdge
	for _, r := range rings {
		for i, a := range r.pts {
			out = append(out, wayEdge{a, r.pts[(i+1)%len(r.pts)]})
		}
	}
	return out
}

func nodesOf(rings []wayRing) []wayNode {
	var out []wayNode
	for _, r := range rings {
		n := len(r.pts)
		for i, b := range r.pts {
			a, c := r.pts[(i+n-1)%n], r.pts[(i+1)%n]
			if orient(a, b, c) > 0 {
				out = append(out, wayNode{at: cleared(a, b, c), before: a, here: b, next: c, region: r.region})
			}
		}
	}
	return out
}

// tangent reports whether a line from p can go on past n's corner and bend round it:
// both sides of the corner lie on one side of the line.
func (n *wayNode) tangent(p grid.XY) bool {
	d := dist(p, n.at)
	far := n.here.Plus(grid.XY{X: n.at.X - p.X, Y: n.at.Y - p.Y})
	s1, s2 := orient(n.here, far, n.before), orient(n.here, far, n.next)
	noise := 10 * clearM * d
	return !(s1 > noise && s2 < -noise || s1 < -noise && s2 > noise)
}

// look lists the nodes in sight of p that a shortest way could bend at.
func (w *Ways) look(p grid.XY, region int, from *wayNode) (seen []waySight) {
	for i := range w.nodes {
		n := &w.nodes[i]
		if n == from || n.region != region || !n.tangent(p) || from != nil && !from.tangent(n.at) {
			continue
		}
		if !w.grown.touched(p, n.at) {
			seen = append(seen, waySight{int32(i), dist(p, n.at)})
		}
	}
	return seen
}

func (w *Ways) lookFrom(p *wayPlace) {
	if !p.looked {
		p.looked, p.seen = true, w.look(p.at, p.region, nil)
	}
}

func (w *Ways) seenFromNode(i int32) []waySight {
	n := &w.nodes[i]
	if !n.looked {
		n.looked, n.seen = true, w.look(n.at, n.region, n)
	}
	return n.seen
}

// waySearch is the scratch of A* (Hart, Nilsson and Raphael 1968, IEEE Transactions
// on Systems Science and Cybernetics 4:100-107, from memory). A figure counts only
// when it is of this round.
type waySearch struct {
	round   int32
	figures []wayFigures // of each node
	open    wayHeap
	goal    grid.XY
	last    int32   // the last node of the shortest way so far, -1
	lengthM float64 // of that way
}

type wayFigures struct {
	best           float64 // metres from the start
	rest           float64 // metres straight to the goal, when in sight
	from           int32   // the node before
	reached, sight int32   // rounds of best and of rest
}

func newWaySearch(nodes int) waySearch { return waySearch{figures: make([]wayFigures, nodes)} }

func (s *waySearch) start(goal *wayPlace) {
	s.round++
	s.open, s.goal, s.last, s.lengthM = s.open[:0], goal.at, -1, math.Inf(1)
	for _, e := range goal.seen {
		f := &s.figures[e.node]
		f.rest, f.sight = e.d, s.round
	}
}

// route returns the nodes of the shortest way from a to b and its length.
func (w *Ways) route(a, b *wayPlace) (via []int32, lengthM float64, ok bool) {
	if !w.grown.touched(a.at, b.at) {
		return nil, dist(a.at, b.at), true
	}
	w.lookFrom(a)
	w.lookFrom(b)
	s := &w.search
	s.start(b)
	w.reach(a.seen, -1, 0)
	for len(s.open) > 0 {
		top := heap.Pop(&s.open).(wayOpen)
		if top.bound >= s.lengthM {
			break
		}
		if top.d <= s.figures[top.node].best {
			w.reach(w.seenFromNode(top.node), top.node, top.d)
		}
	}
	for n := s.last; n >= 0; n = s.figures[n].from {
		via = append(via, n)
	}
	slices.Reverse(via)
	return via, s.lengthM, s.last >= 0
}

// reach notes the nodes in sight of node from, which lies d metres from the start,
// and opens those that may be on a shorter way than the shortest so far.
func (w *Ways) reach(seen []waySight, from int32, d float64) {
	s := &w.search
	for _, e := range seen {
		f, total := &s.figures[e.node], d+e.d
		bound := total + dist(w.nodes[e.node].at, s.goal)
		if bound >= s.lengthM || f.reached == s.round && f.best <= total {
			continue
		}
		f.reached, f.best, f.from = s.round, total, from
		if f.sight == s.round && total+f.rest < s.lengthM {
			s.last, s.lengthM = e.node, total+f.rest
		}
		heap.Push(&s.open, wayOpen{e.node, total, bound})
	}
}

// wayOpen is a node to go on from: metres from the start, and the least metres of a
// way through it.
type wayOpen struct {
	node     int32
	d, bound float64
}

type wayHeap []wayOpen

func (h wayHeap) Len() int { return len(h) }
func (h wayHeap) Less(i, j int) bool {
	return h[i].bound < h[j].bound || h[i].bound == h[j].bound && h[i].node < h[j].node
}
func (h wayHeap) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h *wayHeap) Push(x any)   { *h = append(*h, x.(wayOpen)) }
func (h *wayHeap) Pop() any {
	old := *h
	x := old[len(old)-1]
	*h = old[:len(old)-1]
	return x
}
