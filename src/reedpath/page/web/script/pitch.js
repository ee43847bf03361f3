// How fast a short sound swings: the normalised square difference and its first high peak (McLeod & Wyvill, "A smarter
// way to find pitch", ICMC 2005, from memory).

// part of the highest peak's height that the first peak must reach; the paper takes 0.8 to 1
const FIRST_SHARE = 0.9;
// height of a peak under which there is no tone, and root mean square under which there is no sound; ours
const CLEAR = 0.8;
const LOUD = 0.004;
// swings over which a place is measured finely, at most
const MOST_SWINGS = 8;

/** How alike a wave is to itself, 1 to -1, by how much later. */
function likeness(wave, longest) {
  const found = new Float32Array(longest + 2);
  for (let lag = 0; lag < found.length; lag += 1) {
    let alike = 0;
    let power = 0;
    for (let at = 0; at + lag < wave.length; at += 1) {
      alike += wave[at] * wave[at + lag];
      power += wave[at] * wave[at] + wave[at + lag] * wave[at + lag];
    }
    found[lag] = power > 0 ? (2 * alike) / power : 0;
  }
  return found;
}

/** The peaks between a rise through 0 and the fall after it, without the one at no lag. */
function peaksOf(found) {
  const peaks = [];
  let best = -1;
  let isPast = false; // whether the first fall through 0 has been passed
  for (let lag = 1; lag < found.length - 1; lag += 1) {
    if (found[lag] <= 0) {
      isPast = true;
      if (best > 0) peaks.push(best);
      best = -1;
    } else if (isPast && found[lag] >= found[lag - 1] && found[lag] > found[lag + 1]) {
      if (best < 0 || found[lag] > found[best]) best = lag;
    }
  }
  return best > 0 ? [...peaks, best] : peaks;
}

/** Where the parabola through three values has its top. */
function topOf(found, lag) {
  const [before, here, after] = [found[lag - 1], found[lag], found[lag + 1]];
  const bend = before - 2 * here + after;
  return bend < 0 ? lag + (0.5 * (before - after)) / bend : lag;
}

/** Swings a second of a wave, 0 where it has no tone.
 *  rate: values a second. lowest, highest: swings a second that are looked for. */
export function swingsOf(wave, rate, lowest, highest) {
  let power = 0;
  for (const value of wave) power += value * value;
  if (Math.sqrt(power / wave.length) < LOUD) return 0;
  const longest = Math.min(Math.ceil(rate / lowest), wave.length >> 1);
  const found = likeness(wave, longest);
  const peaks = peaksOf(found).filter((lag) => lag >= rate / highest - 1);
  const most = Math.max(0, ...peaks.map((lag) => found[lag]));
  const first = peaks.find((lag) => found[lag] >= FIRST_SHARE * most);
  if (most < CLEAR || first === undefined) return 0;
  let length = topOf(found, first);
  // the longer the measured stretch, the finer: the same peak two, three ... swings later
  for (let swings = 2; swings <= MOST_SWINGS && swings * length < longest; swings += 1) {
    let lag = Math.round(swings * length);
    while (lag < longest && found[lag + 1] > found[lag]) lag += 1;
    while (lag > 1 && found[lag - 1] > found[lag]) lag -= 1;
    if (Math.abs(lag - swings * length) > 0.25 * length + 1 || lag >= longest) break;
    length = topOf(found, lag) / swings;
  }
  return rate / length;
}
