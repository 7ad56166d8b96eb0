package track

import (
	"bytes"
	"encoding/binary"
	"math"

	"github.com/muktihari/fit/profile/basetype"
	"github.com/muktihari/fit/profile/typedef"
	"github.com/muktihari/fit/proto"
)

// fitDefinition tells how the messages of one local number are laid out.
type fitDefinition struct {
	message typedef.MesgNum
	order   binary.ByteOrder
	fields  []fitField
}

type fitField struct {
	num  byte
	base basetype.BaseType
	at   int // offset in the message, its header included
	size int // bytes
}

// fitMessage is a data message with its definition.
type fitMessage struct {
	def *fitDefinition
	b   []byte
}

func (m fitMessage) compressed() bool { return m.b[0]&proto.MesgCompressedHeaderMask != 0 }

func (m fitMessage) field(num byte) *fitField {
	for i := range m.def.fields {
		if m.def.fields[i].num == num {
			return &m.def.fields[i]
		}
	}
	return nil
}

// number is the value, or the first of an array, of an integer field of up to 32
// bits; false when it is missing or marked invalid: all bits set, of signed
// numbers all but the sign, and 0 in the types with a z.
func (m fitMessage) number(num byte) (int64, bool) {
	x := m.field(num)
	if x == nil {
		return 0, false
	}
	b := m.b[x.at:]
	switch x.base {
	case basetype.Enum, basetype.Uint8, basetype.Byte:
		return int64(b[0]), b[0] != math.MaxUint8
	case basetype.Uint8z:
		return int64(b[0]), b[0] != 0
	case basetype.Sint8:
		return int64(int8(b[0])), int8(b[0]) != math.MaxInt8
	case basetype.Sint16:
		v := int16(m.def.order.Uint16(b))
		return int64(v), v != math.MaxInt16
	case basetype.Uint16:
		v := m.def.order.Uint16(b)
		return int64(v), v != math.MaxUint16
	case basetype.Uint16z:
		v := m.def.order.Uint16(b)
		return int64(v), v != 0
	case basetype.Sint32:
		v := int32(m.def.order.Uint32(b))
		return int64(v), v != math.MaxInt32
	case basetype.Uint32:
		v := m.def.order.Uint32(b)
		return int64(v), v != math.MaxUint32
	case basetype.Uint32z:
		v := m.def.order.Uint32(b)
		return int64(v), v != 0
	}
	return 0, false
}

// altitude is that of the first of two fields that has one: fifths of a metre
// above -500 m.
func (m fitMessage) altitude(first, second byte) float32 {
	v, ok := m.number(first)
	if !ok {
		v, ok = m.number(second)
	}
	if !ok {
		return nan32
	}
	return float32(float64(v)/5 - 500)
}

// text is a string field up to its first zero byte.
func (m fitMessage) text(num byte) string {
	x := m.field(num)
	if x == nil || x.base != basetype.String {
		return ""
	}
	text, _, _ := bytes.Cut(m.b[x.at:x.at+x.size], []byte{0})
	return plain(text)
}
