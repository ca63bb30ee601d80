// Where the names of a map's places stand: no two on each other, none beyond the map, none left out.

/**
 * For each place the middle and the foot of its name, in pixels from the map's middle.
 *
 * A name stands above its place, else below or beside it. Where none of these is clear, a number stands for it
 * (`number`), and where even that has no room, nothing does (null).
 */
export function spread(places, letters, edge) {
  const taken = [];
  let numbers = 0;
  const clear = (middle, foot, wide) => Math.abs(middle) + wide / 2 < edge.x && Math.abs(foot - letters / 2) + letters / 2 < edge.y
    && !taken.some((other) => Math.abs(other.middle - middle) < (other.wide + wide) / 2 + 3 && Math.abs(other.foot - foot) < letters + 1);
  const stand = ({ x, y }, wide) => {
    const beside = wide / 2 + letters;
    const tries = [[0, -9], [0, letters + 7], [beside, 5], [-beside, 5]].map(([right, down]) => [x + right, y + down]);
    const found = tries.find(([middle, foot]) => clear(middle, foot, wide));
    if (!found) return null;
    taken.push({ middle: found[0], foot: found[1], wide });
    return { middle: found[0], foot: found[1] };
  };
  return places.map((place) => {
    const whole = stand(place, place.wide);
    if (whole || Math.abs(place.x) > edge.x || Math.abs(place.y) > edge.y) return whole;
    const short = stand(place, 1.3 * letters);
    return short && { ...short, number: (numbers += 1) };
  });
}

/** Say below a map which names its numbers stand for. */
export function tellNumbers(below, numbered) {
  below.hidden = !numbered.length;
  below.textContent = numbered.map(([number, name]) => `${number} ${name}`).join(" · ");
}
