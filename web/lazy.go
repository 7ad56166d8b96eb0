package web

import (
	"fmt"
	"sync"
)

// lazy holds what is made of a shown when first asked for, by name.
type lazy struct {
	mu   sync.Mutex
	made map[string]*made
}

type made struct {
	once  sync.Once
	value any
	err   error
}

// make1 makes the thing of that name once, however many ask for it at a time. f must
// not depend on one question's context: what it gives is for all.
func make1[T any](l *lazy, name string, f func() (T, error)) (T, error) {
	l.mu.Lock()
	if l.made == nil {
		l.made = map[string]*made{}
	}
	m := l.made[name]
	if m == nil {
		m = &made{err: fmt.Errorf("bug: %s was not made", name)} // stays when f panics
		l.made[name] = m
	}
	l.mu.Unlock()
	m.once.Do(func() { m.value, m.err = f() })
	v, _ := m.value.(T)
	return v, m.err
}
