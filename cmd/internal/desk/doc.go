// Package desk holds what pawl does for its users: one function a use case,
// joining the rooms ingest, wear and store.
//
// The house in three sentences: wear holds the types and the rules and imports
// only the standard library and its schedule parser; ingest, store and report
// import wear and never each other; cmd wires them, and within cmd only the
// desk speaks to ingest and store.
package desk
