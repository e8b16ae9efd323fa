// Counts heads against the limits that came with the copy. Every figure and every name is the server's; here it is only counted.
const registerLimits = (() => {
  const least = (numbers) => numbers.reduce((one, other) => Math.min(one, other));

  // people: { id, number: band from 0, or null for an adult; guardian: id of the adult in charge, or "" }.
  // A guardian who is not among them looks after nobody; children beyond a guardian's ratio join the pool, the oldest first.
  function headCount(bands, people) {
    const adults = new Set(people.filter((one) => one.number === null).map((one) => one.id));
    const children = people.filter((one) => one.number !== null);
    const pool = bands.map(() => 0);
    const wards = new Map();
    for (const { number, guardian } of children) {
      if (adults.has(guardian)) wards.set(guardian, [...(wards.get(guardian) ?? []), number]);
      else pool[number] += 1;
    }
    for (const numbers of wards.values()) {
      numbers.sort((one, other) => one - other);
      for (const number of numbers.slice(bands[numbers[0]])) pool[number] += 1;
    }
    return { participants: people.length, children: children.length, guardians: wards.size, pool };
  }

  function used(limit, count) {
    if (limit.counts_people) return count.participants + limit.staff;
    const floor = count.children ? limit.floor : 0;
    return limit.per_adult.reduce((sum, ratio, band) => sum + Math.ceil(count.pool[band] / ratio), floor);
  }

  function line(limit, count) {
    const allows = limit.allows + (limit.with_guardians ? count.guardians : 0);
    const uses = used(limit, count);
    return { slack: allows - uses, counts_people: limit.counts_people, sentence: sentence(limit, allows, uses) };
  }

  const coming = (number) => number === 1 ? "1 is coming" : `${number || "nobody"} ${number ? "are" : "is"} coming`;

  function remaining(slack) {
    if (slack <= 0) return slack === 0 ? "no place remains" : `that is ${-slack} too many`;
    return slack === 1 ? "1 place remains" : `${slack} places remain`;
  }

  function sentence(limit, allows, uses) {
    if (!limit.counts_people) return `${limit.label} ${uses === 1 ? "1 adult" : `${uses} adults`}; ${coming(allows)}.`;
    const people = `${allows === 1 ? "1 person" : `${allows} people`}${limit.counts === "everybody" ? ", staff included" : ""}`;
    return `${limit.label} allows ${people}; ${coming(uses)}; ${remaining(allows - uses)}.`;
  }

  function stand(limits, count) {
    const lines = limits.map((limit) => line(limit, count));
    return { lines: lines.map((one) => one.sentence), refusals: lines.filter((one) => one.slack < 0).map((one) => one.sentence), rank: rank(lines, count) };
  }

  // Most limits broken, then fewest places left, then the children's rules closest.
  function rank(lines, count) {
    const slack = (people) => least(lines.filter((one) => one.counts_people === people).map((one) => one.slack));
    return [-lines.filter((one) => one.slack < 0).length, slack(true), count.children ? slack(false) : 0];
  }

  function worse(one, other) {
    const at = one.rank.findIndex((part, place) => part !== other.rank[place]);
    return at >= 0 && one.rank[at] < other.rank[at];
  }

  // The statement for these people, and without the guide who matters most; the first of several that agree.
  function statement(frozen, people) {
    const count = headCount(frozen.bands, people);
    const without = frozen.without.map(({ guide, limits }) => ({ guide, ...stand(limits, count) }));
    const lost = without.reduce((worst, one) => !worst || worse(one, worst) ? one : worst, null);
    return { ...stand(frozen.all, count), lost };
  }

  // The most of a party, adults first, who pass every limit together with those who come.
  function wouldFit(frozen, people, party) {
    const inOrder = [...party.filter((one) => one.number === null), ...party.filter((one) => one.number !== null)];
    for (let number = inOrder.length; number > 0; number -= 1) {
      if (!statement(frozen, [...people, ...inOrder.slice(0, number)]).refusals.length) return number;
    }
    return 0;
  }

  return { statement, wouldFit };
})();
