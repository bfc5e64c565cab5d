// Package house holds the rules of the house as checks over the source, so that
// they are kept by a test and not by memory:
//
//   - ingest, model and alerts do not import each other, nor what lies above
//     them; the nouns (wickd/model) and the units (wickd/model/unit) are shared;
//   - nothing under model does I/O;
//   - some libraries have one owner;
//   - nothing under model or alerts reads the clock, waits, or draws from a
//     random source that it was not given;
//   - every package explains itself;
//   - the top of the tree holds what it should;
//   - nothing is left for later without a trace outside the source;
//   - every command line in the README is one that wickd has.
//
// A check is a function from parsed files to findings, and reads nothing itself:
// so each can be tried on a small wrong example, which its test does. Only Load
// reads the disk. Nothing here is part of the program.
package house
