// Viewers of one group on a page follow each other.

/** @import { Viewer } from "./viewer.js" */

/** @type {Map<string, Set<Viewer>>} */
const groups = new Map();

/**
 * Lets a viewer follow the others of its group, and them follow it.
 * @param {Viewer} viewer
 * @param {string} group
 * @returns {() => void} ends it
 */
export function join(viewer, group) {
  const members = groups.get(group) ?? new Set();
  groups.set(group, members);
  members.add(viewer);
  const stop = viewer.onView((view) => {
    for (const other of members) {
      if (other !== viewer) {
        // Each keeps the brightness it was opened with: windows go by their change.
        other.setView({ ...view, window: undefined });
      }
    }
  });
  return () => {
    stop();
    members.delete(viewer);
    if (members.size === 0) {
      groups.delete(group);
    }
  };
}
