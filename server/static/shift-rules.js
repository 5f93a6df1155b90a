/* Checks an entry by the rule book that the server wrote, with or without a connection. The twin of
   analytics/condition/plausible.py: the same steps in the same order; thresholds and sentences are in the book. */
(function (scope) {
  "use strict";

  const LONGEST = 16, SAME_WITHIN = 1e-6, MOST_DECIMALS = 9;
  const GAPS = /[ \u00a0\u2009\u202f']/g;
  const PLAIN = /^[+-]?(?:[0-9]+[.,]?[0-9]*|[.,][0-9]+)$/;
  const POINTS_THEN_COMMA = /^[+-]?[0-9]{1,3}(?:\.[0-9]{3})+,[0-9]+$/;
  const COMMAS_THEN_POINT = /^[+-]?[0-9]{1,3}(?:,[0-9]{3})+\.[0-9]+$/;
  const ONE_COMMA = /^[+-]?[1-9][0-9]{0,2},[0-9]{3}$/;
  const THOUSANDS = /^[+-]?[0-9]{1,3}(?:(?:\.[0-9]{3}){2,}|(?:,[0-9]{3}){2,})$/;

  const bare = (text) => text.trim().replace(GAPS, "").replaceAll("\u2212", "-");

  const withoutComma = (text) => (ONE_COMMA.test(bare(text)) ? bare(text).replaceAll(",", "") : null);

  function plainNumber(text) {
    const found = bare(text);
    if (found.length > LONGEST) return null;
    if (PLAIN.test(found)) return found.replaceAll(",", ".");
    if (POINTS_THEN_COMMA.test(found)) return found.replaceAll(".", "").replaceAll(",", ".");
    if (COMMAS_THEN_POINT.test(found)) return found.replaceAll(",", "");
    return THOUSANDS.test(found) ? found.replace(/[.,]/g, "") : null;
  }

  function numberText(value, digits = 4, trim = true) {
    const size = Math.abs(value);
    let decimals = digits - 1, edge = 10;
    while (size >= edge && decimals > 0) { edge *= 10; decimals -= 1; }
    edge = 1;
    while (size > 0 && size < edge && decimals < MOST_DECIMALS) { edge /= 10; decimals += 1; }
    let text = value.toFixed(decimals);
    if (trim && text.includes(".")) text = text.replace(/0+$/, "").replace(/\.$/, "");
    return trim && text.replace(/^[-0.]+|[-0.]+$/g, "") === "" ? "0" : text;
  }

  function shifted(digits, power) {
    const sign = "+-".includes(digits[0]) ? digits[0] : "";
    const body = digits.slice(sign.length), point = body.indexOf(".");
    const whole = point < 0 ? body : body.slice(0, point), rest = point < 0 ? "" : body.slice(point + 1);
    let signs = whole + rest, place = whole.length + power;
    if (place <= 0) { signs = "0".repeat(1 - place) + signs; place = 1; }
    signs = signs.padEnd(place, "0");
    const text = signs.slice(0, place).replace(/^0+/, "") || "0", after = signs.slice(place).replace(/0+$/, "");
    return sign + text + (after ? "." + after : "");
  }

  function swapped(digits) {
    const places = [];
    for (let n = 0; n < digits.length; n += 1) if (digits[n] >= "0" && digits[n] <= "9") places.push(n);
    const found = [];
    for (let n = 0; n + 1 < places.length; n += 1) {
      const first = places[n], second = places[n + 1];
      if (digits[first] === digits[second]) continue;
      const signs = digits.split("");
      [signs[first], signs[second]] = [signs[second], signs[first]];
      if (!(first === places[0] && signs[first] === "0" && second === first + 1)) found.push(signs.join(""));
    }
    return found;
  }

  const countDigits = (digits) => digits.replace(/[^0-9]/g, "").replace(/^0+/, "").length;

  function tidy(words) {
    for (const [gap, plain] of [[" .", "."], [" )", ")"], ["  ", " "], [" ?", "?"], [" :", ":"], [" ;", ";"]]) {
      words = words.replaceAll(gap, plain);
    }
    return words;
  }

  function fill(words, places) {
    for (const [name, text] of Object.entries(places)) words = words.replaceAll("{" + name + "}", () => text);
    return tidy(words);
  }

  const inGauge = (value, rule) => numberText((value - rule.offset) / rule.factor);

  function meant(rule, digits, target) {
    const number = Number(digits), found = [];
    for (const [symbol, power, factor, offset] of rule.others) {
      const value = number * factor + offset;
      if (power === 0) {
        const text = numberText((value - rule.offset) / rule.factor, Math.max(3, countDigits(digits)), false);
        found.push([value, text, "meant unit", symbol]);
      } else {
        found.push([value, shifted(digits, power), "meant point", ""]);
      }
    }
    for (const text of swapped(digits)) found.push([Number(text) * rule.factor + rule.offset, text, "meant digits", ""]);
    let best = ["", "", ""], bestDistance = Infinity;
    for (const [value, text, how, other] of found) {
      if (value < target.low || value > target.high) continue;
      const distance = target.middle === null ? 0 : Math.abs(value - target.middle);
      if (distance < bestDistance) { best = [text, how, other]; bestDistance = distance; }
    }
    return best;
  }

  class Check {
    constructor(book, entry) {
      this.book = book;
      this.entry = entry;
      this.values = new Map();
      this.findings = [];
      this.rules = new Map(book.fields.map((rule) => [rule.column, rule]));
    }

    note(code, severity, columns, sentence, suggestion = "", offer = "") {
      this.findings.push({ code, severity, columns, sentence, suggestion, offer });
    }

    say(code, severity, columns, places = {}) {
      this.note(code, severity, columns, fill(this.book.words[code], places));
    }

    odd(rule, digits, code, severity, target, numbers) {
      const places = { label: rule.label, value: digits, unit: rule.unit };
      for (const [name, number] of Object.entries(numbers)) {
        places[name] = numberText((number - (name === "rise" ? 0 : rule.offset)) / rule.factor, 3);
      }
      const [suggestion, how, other] = meant(rule, digits, target);
      Object.assign(places, { suggestion, other });
      const offer = suggestion ? fill(this.book.words[how], places) : "";
      this.note(code, severity, [rule.column], fill(this.book.words[code], places), suggestion, tidy(offer));
    }

    value(rule, text) {
      const count = this.findings.length, digits = this.alone(rule, text);
      if (digits === null || this.findings.length > count || rule.recent || rule.counter) return;
      const other = withoutComma(text), value = other === null ? NaN : Number(other) * rule.factor + rule.offset;
      if (!(value >= rule.usual[0] && value <= rule.usual[1])) return;
      const places = { label: rule.label, value: digits, unit: rule.unit, suggestion: other };
      this.note("comma", "ask", [rule.column], fill(this.book.words.comma, places), other, fill(this.book.words["meant comma"], places));
    }

    /* The number as typed, when it is one, with what is odd about it noted. */
    alone(rule, text) {
      const digits = plainNumber(text);
      if (digits === null) {
        this.say("number", "wrong", [rule.column]);
        return null;
      }
      const value = Number(digits) * rule.factor + rule.offset, running = this.entry.state === "running";
      this.values.set(rule.column, value);
      const [low, high] = rule.possible;
      const target = { low: rule.meant[0], high: rule.meant[1], middle: rule.recent ? rule.recent[1] : null };
      if (value < low || value > high) this.odd(rule, digits, "possible", "confirm", target, { low, high });
      else if (rule.counter) this.counter(rule, digits, value);
      else if (running && rule.recent) {
        if (value < rule.recent[0] || value > rule.recent[2]) {
          this.odd(rule, digits, "jump", "ask", target, { middle: target.middle });
        }
      } else if (running && (value < rule.usual[0] || value > rule.usual[1])) {
        this.odd(rule, digits, "usual", "ask", target, { low: rule.usual[0], high: rule.usual[1] });
      }
      return digits;
    }

    counter(rule, digits, value) {
      const [last, lastAt, rate] = rule.counter, hours = (this.entry.taken_at_s - lastAt) / 3600;
      if (hours < 0) return;
      const most = last + rate * hours + 1, target = { low: last, high: most, middle: (last + most) / 2 };
      if (value < last) this.odd(rule, digits, "counter back", "confirm", target, { last });
      else if (value > most) this.odd(rule, digits, "counter fast", "ask", target, { rise: value - last });
    }

    path(path, odd) {
      const known = path.columns.filter((name) => this.values.has(name) && !odd.has(name));
      for (let n = 0; n + 1 < known.length; n += 1) {
        const [first, second] = [known[n], known[n + 1]];
        if (!(this.values.get(second) > this.values.get(first) + path.tolerance)) continue;
        const places = {};
        for (const [name, column] of [["first", first], ["second", second]]) {
          const rule = this.rules.get(column);
          places[name] = rule.label;
          places[name + "_unit"] = rule.unit;
          places[name + "_value"] = inGauge(this.values.get(column), rule);
        }
        this.say(path.words, "ask", [first, second], places);
      }
    }

    sum(side) {
      return side.reduce((total, term) => total + term.reduce((product, name) => product * this.values.get(name), 1), 0);
    }

    balance(balance, odd) {
      const columns = [...new Set([...balance.whole, ...balance.parts].flat())];
      if (columns.some((name) => !this.values.has(name) || odd.has(name))) return;
      const whole = this.sum(balance.whole), parts = this.sum(balance.parts);
      if (whole <= 0) return;
      const off = (whole - parts) / whole, rule = this.rules.get(columns[0]);
      if (off >= balance.low && off <= balance.high) return;
      this.say(balance.words, "ask", columns, {
        label: rule.label, unit: rule.unit, percent: numberText(100 * Math.abs(off), 2),
        whole: inGauge(whole, rule), parts: inGauge(parts, rule),
      });
    }

    limit(limit, odd) {
      const columns = [...new Set([...limit.value, ...limit.minus, ...limit.over].flat())];
      if (columns.some((name) => !this.values.has(name) || odd.has(name))) return;
      const over = limit.over.length ? this.sum(limit.over) : 1;
      if (over <= 0) return;
      const found = (this.sum(limit.value) - this.sum(limit.minus)) / over;
      if (found >= limit.low && found <= limit.high) return;
      const rule = this.rules.get(columns[0]), scale = limit.in_unit ? rule.factor : 1;
      this.say(limit.words, "tell", columns, {
        unit: rule.unit, found: numberText(found / scale, 3), low: numberText(limit.low / scale, 3),
        high: numberText(limit.high / scale, 3),
      });
    }

    tank(tank, odd) {
      const columns = [tank.level, ...new Set(tank.over.flat())];
      const hours = (this.entry.taken_at_s - tank.last_at_s) / 3600;
      if (columns.some((name) => !this.values.has(name) || odd.has(name))) return;
      const over = this.sum(tank.over), fall = tank.last - this.values.get(tank.level);
      if (over <= 0 || fall < 0 || hours < tank.least_hours || hours > tank.most_hours) return;
      const found = (fall * tank.scale) / (hours * over);
      if (found >= tank.low && found <= tank.high) return;
      this.say(tank.words, "tell", columns, {
        found: numberText(found, 3), low: numberText(tank.low, 3), high: numberText(tank.high, 3),
      });
    }

    copied() {
      const rule = this.book.copied, same = [];
      let count = 0;
      for (const [name, value] of this.values) {
        const last = rule.values[name];
        if (last === undefined) continue;
        count += 1;
        const alike = (known) => Math.abs(value - known) <= SAME_WITHIN * Math.abs(known);
        if (alike(last) || alike(rule.shown[name] ?? last)) same.push(name);
      }
      if (same.length >= rule.least && same.length >= rule.share * count) {
        this.say("copied", "ask", same, { same: String(same.length), count: String(count) });
      }
    }

    time() {
      const { taken_at_s: taken, now_s: now } = this.entry;
      if (taken > now + this.book.clock_s) this.say("future", "ask", ["time"]);
      else if (taken < now - this.book.long_ago_s) this.say("long ago", "ask", ["time"]);
    }
  }

  function checkEntry(book, entry) {
    const check = new Check(book, entry);
    for (const rule of book.fields) {
      const text = entry.typed[rule.column] || "";
      if (text.trim()) check.value(rule, text);
    }
    if (entry.state === "running") {
      const odd = new Set(check.findings.flatMap((finding) => finding.columns));
      book.paths.forEach((path) => check.path(path, odd));
      book.balances.forEach((balance) => check.balance(balance, odd));
      const doubted = new Set(check.findings.flatMap((one) => (["wrong", "confirm"].includes(one.severity) ? one.columns : [])));
      book.limits.values.forEach((limit) => check.limit(limit, doubted));
      book.limits.tanks.forEach((tank) => check.tank(tank, doubted));
      check.copied();
    }
    check.time();
    return check.findings;
  }

  scope.ShiftRules = { checkEntry, plainNumber };
}(self));
