/** Units as people write them in headers, brought to one spelling; null where the text is no unit known here. */
const UNITS: readonly { readonly unit: string; readonly spellings: readonly string[] }[] = [
  { unit: 'kBq/m3', spellings: ['kbq/m3', 'kbq/m^3', 'kbqm-3', 'kbqm3', 'kbq'] },
  { unit: 'Bq/m3', spellings: ['bq/m3', 'bq/m^3', 'bqm-3', 'bqm3', 'bq'] },
  { unit: 'pCi/L', spellings: ['pci/l', 'pcil-1', 'pci'] },
  { unit: 'm', spellings: ['m', 'metre', 'metres', 'meter', 'meters'] },
  { unit: 'cm', spellings: ['cm', 'centimetre', 'centimetres', 'centimeter', 'centimeters'] },
  { unit: 'in', spellings: ['in', 'in.', 'inch', 'inches', '"'] },
  { unit: 'ft', spellings: ['ft', 'ft.', 'foot', 'feet', "'", 'intft'] },
  {
    unit: 'ft-us',
    spellings: ['ftus', 'usft', 'us-ft', 'ft-us', 'ussurveyft', 'ussurveyfoot', 'ussurveyfeet', 'sft'],
  },
  { unit: 'deg', spellings: ['deg', 'degree', 'degrees', '°'] },
  { unit: 'Pa', spellings: ['pa'] },
  { unit: 'kPa', spellings: ['kpa'] },
  { unit: 'hPa', spellings: ['hpa'] },
  { unit: 'mbar', spellings: ['mbar'] },
  { unit: 'inH2O', spellings: ['inh2o', 'in.h2o', 'inwc', 'in.wc', 'inchesofwater', 'inw.c.'] },
  { unit: 'cmH2O', spellings: ['cmh2o', 'cmwc', 'cmofwater'] },
  { unit: 'mmHg', spellings: ['mmhg', 'torr', 'mmofmercury'] },
  { unit: 'mL/min', spellings: ['ml/min', 'mlmin-1', 'cc/min', 'cm3/min', 'sccm'] },
  { unit: 'L/min', spellings: ['l/min', 'lmin-1', 'lpm'] },
  { unit: '%', spellings: ['%', 'percent', 'pct', 'vol%', '%vol', 'vol.-%', 'wt%', '%wt'] },
  { unit: 'ppm', spellings: ['ppm', 'ppmv'] },
  {
    unit: 'mL',
    spellings: ['ml', 'cm3', 'cm^3', 'ccm', 'cc', 'millilitre', 'millilitres', 'milliliter', 'milliliters'],
  },
  { unit: 'L', spellings: ['l', 'dm3', 'litre', 'litres', 'liter', 'liters'] },
  { unit: 'mL/min', spellings: ['ml/min', 'mlmin-1', 'cm3/min', 'ccm/min', 'cc/min'] },
  { unit: 'L/min', spellings: ['l/min', 'lmin-1', 'lpm'] },
  { unit: 'share', spellings: ['share', 'fraction', 'm3/m3'] },
  { unit: 'm2', spellings: ['m2', 'm^2'] },
  { unit: 'cm2', spellings: ['cm2', 'cm^2'] },
  { unit: 'um2', spellings: ['um2', 'um^2'] },
  { unit: 'darcy', spellings: ['darcy', 'd'] },
];

const BY_SPELLING = new Map(UNITS.flatMap((u) => u.spellings.map((s) => [s, u.unit] as const)));

export function recogniseUnit(text: string): string | null {
  const key = text
    .trim()
    .toLowerCase()
    .replaceAll('²', '2')
    .replaceAll('³', '3')
    .replaceAll('⁻', '-')
    .replaceAll('µ', 'u')
    .replaceAll('μ', 'u')
    .replaceAll('·', '')
    .replace(/\s+/g, '');
  return BY_SPELLING.get(key) ?? null;
}

export interface HeaderParts {
  /** Header without its unit and without remarks in brackets. */
  readonly name: string;
  readonly unit: string | null;
  /** Coverage factor a header states (`U (k=2)`, `2 sigma`), else null. */
  readonly coverageFactor: number | null;
  /** Minutes of the column's clock ahead of UTC, where the header says which clock (`UTC`, `UTC+2`), else null. */
  readonly zoneMinutes: number | null;
}

/** Clock named in a header or in a row of units: UTC or GMT with or without an offset, or an offset alone in brackets. */
export function zoneOf(text: string): number | null {
  const named =
    /(?:^|[^\p{L}])(?:UTC|GMT)\s*(?:([+\-\u2212])\s*(\d{1,2})(?::?(\d{2}))?(?!\d))?(?!\p{L})/iu.exec(text);
  const found = named ?? /[([]\s*([+\-\u2212])(\d{2}):?(\d{2})\s*[)\]]/u.exec(text);
  if (found === null) return null;
  const minutes = 60 * Number(found[2] ?? 0) + Number(found[3] ?? 0);
  if (minutes > MOST_ZONE_MINUTES) return null;
  return found[1] === undefined || found[1] === '+' ? minutes : -minutes;
}

/** Clocks on the earth run from UTC-12 to UTC+14. */
const MOST_ZONE_MINUTES = 14 * 60;

/** Splits `Radon (kBq/m3)`, `depth [cm]`, `radon_kBq_m3`, `U, k=2` into name, unit and coverage factor. */
export function splitHeader(header: string): HeaderParts {
  const factor = /(?:\bk\s*=\s*([\d.]+)|\b([123])\s*-?\s*(?:sigma|σ|s\.?d\.?\b))/iu.exec(header);
  const coverageFactor = factor === null ? null : Number(factor[1] ?? factor[2]);
  let unit: string | null = null;
  let name = header;
  for (const bracket of header.matchAll(/[([{]([^)\]}]*)[)\]}]/g)) {
    for (const piece of (bracket[1] ?? '').split(/[,;]/)) unit ??= recogniseUnit(piece);
    name = name.replace(bracket[0], ' ');
  }
  if (unit === null) {
    const tail =
      /^(.*?)[\s_,/]+((?:k?bq[\s_/]*m\^?-?[3³])|(?:pci[\s_/]*l)|ml[\s_/]*min|ml|cm|m|ft|in|pa|kpa|%|pct|m2|ppm)\.?$/iu.exec(
        name.trim(),
      );
    const tailUnit = tail === null ? null : recogniseUnit((tail[2] ?? '').replace(/[\s_]+/g, '/'));
    if (tail !== null && tailUnit !== null) {
      unit = tailUnit;
      name = tail[1] ?? name;
    }
  }
  return {
    name: name.replace(/\s+/g, ' ').trim(),
    unit,
    coverageFactor: isFactor(coverageFactor) ? coverageFactor : null,
    zoneMinutes: zoneOf(header),
  };
}

function isFactor(value: number | null): value is number {
  return value !== null && Number.isFinite(value) && value > 0 && value <= 10;
}
