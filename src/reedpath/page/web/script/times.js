// Looking things up among times that the page was given. Nothing here knows music.

/** Index of the last of some ascending times that is not after t; -1 where all are. */
export function lastUntil(times, t) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= t) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** Index of the last of some ascending times that is not after t, where one was jumped to and the jump may land before
 *  it: from `landed` on that one has been reached. */
export function reachedFrom(times, t, aim, landed) {
  const index = lastUntil(times, t);
  return index === aim - 1 && t > landed ? aim : index;
}

/** Where a value lies on a course of points, straight between them and still beyond its ends; from one column to
 *  another. */
export function along(course, value, from = 0, to = 1) {
  if (!course.length) return 0;
  let index = 0;
  while (index < course.length && course[index][from] <= value) index += 1;
  if (index === 0) return course[0][to];
  if (index === course.length) return course[index - 1][to];
  const before = course[index - 1];
  const after = course[index];
  const share = (value - before[from]) / (after[from] - before[from]);
  return before[to] + share * (after[to] - before[to]);
}
