// Figures as people read and write them. Lengths are metres inside.

const FOOT = 0.3048; // metres, exact (international yard and pound agreement, 1959)
const LARGEST_BARE_M = 30; // a bare number above this is no length in metres that a room has

const fixed = (digits) =>
  new Intl.NumberFormat("en-GB", { minimumFractionDigits: digits, maximumFractionDigits: digits });
const two = fixed(2);
const three = fixed(3);
const one = fixed(1);
const short = new Intl.NumberFormat("en-GB", { maximumFractionDigits: 2 });

export const metres = (v) =>
  v === null || v === undefined ? "not known" : `${millimetres(v) ? three.format(v) : two.format(v)} m`;
const millimetres = (v) => Math.abs(v * 100 - Math.round(v * 100)) > 1e-6;
export const area = (v) => (v === null || v === undefined ? "not known" : `${two.format(v)} m²`);
export const hours = (v) => (v === null || v === undefined ? "not known" : `${one.format(v)} h`);
export const number = (v) => (v === null || v === undefined ? "" : short.format(v));
export const percent = (v) => `${Math.round(v * 100)} %`;
export const unitWord = (unit) => ({ m2: "m²", no: "off" })[unit] ?? unit;
export const amount = (v, unit) => `${number(v)} ${unitWord(unit)}`;
export const plain = (v) =>
  v === null || v === undefined ? "" : Number.isNaN(Number(v)) ? v : String(Math.round(Number(v) * 1e4) / 1e4);

export function money(v, currency = "") {
  if (v === null || v === undefined) return "no price yet";
  return `${currency}${two.format(Number(v))}`;
}

export function bytes(size) {
  return size < 1e6 ? `${Math.max(1, Math.round(size / 1e3))} kB` : `${one.format(size / 1e6)} MB`;
}

/**
 * A length as written: 2.4, 2,4 m, 2400 mm, 240 cm, 7'10", 7 ft 10 1/2 in. Returns {value} in metres or {fault}.
 */
export function readLength(text) {
  const written = text.trim().toLowerCase().replace(/[′’]/g, "'").replace(/[″”]/g, '"').replace(/''/g, '"');
  if (written === "") return { fault: "Write a length, such as 2.4 or 2400 mm or 7'10\"." };
  const metric = /^(\d+(?:[.,]\d+)?)\s*(m|mm|cm)?$/.exec(written);
  if (metric) {
    const size = Number(metric[1].replace(",", "."));
    const unit = metric[2];
    if (!unit && size > LARGEST_BARE_M)
      return { fault: `${metric[1]} of what? Write ${metric[1]} mm, or metres such as 2.4.` };
    return { value: round(size * { m: 1, cm: 0.01, mm: 0.001 }[unit ?? "m"]) };
  }
  const feet =
    /^(?:(\d+(?:\.\d+)?)\s*(?:'|ft|feet|foot))?\s*-?\s*(?:(\d+(?:\.\d+)?)?\s*(?:(\d+)\/(\d+))?\s*(?:"|in|inches|inch))?$/.exec(
      written,
    );
  if (feet && (feet[1] || feet[2] || feet[3])) {
    const inches = Number(feet[2] ?? 0) + (feet[3] ? Number(feet[3]) / Number(feet[4]) : 0);
    return { value: round((Number(feet[1] ?? 0) + inches / 12) * FOOT) };
  }
  return { fault: `"${text.trim()}" is no length. Write 2.4, 2400 mm or 7'10".` };
}

const round = (v) => Math.round(v * 1e4) / 1e4;

/** A plain number as written, with a point or a comma. Returns {value} or {fault}. */
export function readNumber(text) {
  const written = text.trim().replace(",", ".");
  const value = Number(written);
  return written === "" || !Number.isFinite(value) ? { fault: `"${text.trim()}" is no number.` } : { value };
}

export function readText(text) {
  return text.trim() === "" ? { fault: "Write something, or press Escape." } : { value: text.trim() };
}
