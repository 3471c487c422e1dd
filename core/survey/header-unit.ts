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
}

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
      /^(.*?)[\s_,/]+((?:k?bq[\s_/]*m\^?-?[3³])|(?:pci[\s_/]*l)|cm|m|ft|in|pa|kpa|%|pct|m2|ppm)\.?$/iu.exec(
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
  };
}

function isFactor(value: number | null): value is number {
  return value !== null && Number.isFinite(value) && value > 0 && value <= 10;
}
