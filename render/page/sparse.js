/* A sparse symmetric matrix, taken apart over one pattern; islands pair by pair. */
"use strict";

class DisjointSet {
  constructor(count) { this.above = Int32Array.from({length: count}, (_, i) => i); }
  leader(i) {
    while (this.above[i] !== i) i = this.above[i] = this.above[this.above[i]];
    return i;
  }
  merge(a, b) { this.above[this.leader(b)] = this.leader(a); }
}

/** L D L' of a symmetric matrix with the entries (i, j) of `pairs`: `slot` says where each is kept, -1 for i = j. */
class Factor {
  constructor(count, pairs) {
    const near = Array.from({length: count}, () => new Map());
    this.slots = 0;
    const join = (i, j) => {
      if (i !== j && !near[i].has(j)) { near[i].set(j, this.slots); near[j].set(i, this.slots++); }
    };
    pairs.forEach(([i, j]) => join(i, j));
    this.slot = Int32Array.from(pairs, ([i, j]) => i === j ? -1 : near[i].get(j));
    const byDegree = [], left = new Set(near.keys());  // the node of fewest neighbours goes first
    const queue = i => (byDegree[near[i].size] ??= new Set()).add(i);
    left.forEach(queue);
    this.pivots = [];
    while (left.size) {
      const degree = byDegree.findIndex(set => set?.size), [k] = byDegree[degree];
      byDegree[degree].delete(k);
      left.delete(k);
      const ends = [...near[k].keys()], own = ends.map(i => near[k].get(i)), targets = [];
      for (const i of ends) { byDegree[near[i].size].delete(i); near[i].delete(k); }
      ends.forEach((i, x) => ends.slice(0, x).forEach(j => { join(i, j); targets.push(near[i].get(j)); }));
      ends.forEach(queue);
      this.pivots.push({k, ends, own, targets});
    }
    this.lower = new Float64Array(this.slots);
    this.diagonal = new Float64Array(count);
  }

  /** The solution x of the matrix with these off-diagonal `entries` (by slot) and `diagonal`, overwriting `right`. */
  solve(entries, diagonal, right) {
    const {lower, diagonal: d} = this;
    lower.set(entries);
    d.set(diagonal);
    for (const {k, ends, own, targets} of this.pivots) {
      let t = 0;
      for (let x = 0; x < ends.length; x++) {
        const value = lower[own[x]];
        if (value === 0) { t += x; continue; }
        const share = value / d[k];
        for (let y = 0; y < x; y++) lower[targets[t++]] -= share * lower[own[y]];
        d[ends[x]] -= share * value;
        right[ends[x]] -= share * right[k];
      }
    }
    for (let p = this.pivots.length - 1; p >= 0; p--) {
      const {k, ends, own} = this.pivots[p];
      let sum = right[k];
      for (let x = 0; x < ends.length; x++) sum -= lower[own[x]] * right[ends[x]];
      right[k] = sum / d[k];
    }
    return right;
  }
}
