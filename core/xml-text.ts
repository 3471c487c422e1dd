/** Text as an element or attribute of XML or HTML may hold it: the five signs escaped, forbidden characters left out. */
export function xmlText(text: string): string {
  return text
    .replace(FORBIDDEN, '')
    .replaceAll('&', '&amp;')
    .replaceAll('<', '&lt;')
    .replaceAll('>', '&gt;')
    .replaceAll('"', '&quot;')
    .replaceAll("'", '&#39;');
}

/** `<name>text</name>` with its line end, or nothing for an empty text. */
export function xmlElement(name: string, text: string | null): string {
  return text === null || text === '' ? '' : `<${name}>${xmlText(text)}</${name}>\n`;
}

/** Control characters but tab and line ends, halves of surrogate pairs, and the two that are no characters. */
const FORBIDDEN = /(?![\t\n\r])\p{Cc}|\p{Cs}|[\ufffe\uffff]/gu;
