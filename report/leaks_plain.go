package report

import "strings"

// plainWords are the words that share copies use of themselves, and the little words of
// English. A name made only of them is not looked for: it would be found in every copy,
// and says nothing.
var plainWords = func() map[string]bool {
	out := map[string]bool{}
	for _, w := range strings.Fields(`a about align allowed allowing already an and angle april area arial at august auto avoid
background been below body bold border bother bottom break by cannot caption chance charset claim
class closed coil collapse color content count counted coverage december deep device direction
doctype does doubt drawn edge empty error every expected family february feet fell figcaption
figure figures files find finds first fixes font for from gaps gave gives ground head height
helvetica here html in initial inside interval january jpeg july june keep keepout lang largest
last least leaves left less liberation lies light likely line listed logged main march margin may
mean media meta metres more most my name names nd no none normal north nothing november null
numbered numbers numeric nums october of on once open or our outline outs over overflow padding
passes passing percent photo place png positions print random receiver referrer rewalked right
roman root round sans says scale schema scheme scope scroll searchable searched searching
september serif share signal site size soft solid some strip style surely swath sweeping swept
table tabular taken taking tell text that the their three ticks times title to true turned twice
under untrod untrodden usual variant viewport visits walk weight went what where wide widest width
with withheld worth`) {
		out[w] = true
	}
	return out
}()
