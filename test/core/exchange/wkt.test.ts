import { describe, expect, test } from 'vitest';
import { findSystemOfWkt, writeWkt } from '../../../core/exchange/wkt.ts';
import { hasGdal, runGdal, withFile } from './gdal.ts';

/** Systems of every projection that is written, in metres, US feet and feet. */
const CODES = [
  32633, 32733, 5514, 2227, 3035, 28992, 31468, 27700, 2154, 25832, 3006, 5070, 2222, 4326, 4269,
];

describe.skipIf(!hasGdal)('against GDAL', () => {
  test.each(CODES)('EPSG:%i: the text written means the same projection', (code) => {
    const text = writeWkt(code) ?? '';
    const parameters = (definition: string) =>
      runGdal('gdalsrsinfo', '-o', 'proj4', definition)
        .trim()
        .split(' ')
        .filter((word) => !/^\+(towgs84|datum|ellps|no_defs|type)/.test(word));
    withFile('system.wkt', text.replace(/,AUTHORITY\["EPSG","\d+"\](?=\]$)/, ''), (path) => {
      expect(parameters(path)).toEqual(parameters(`EPSG:${code}`));
    });
  });

  test.each(CODES)('EPSG:%i is known again from a .prj file', (code) => {
    const prj = runGdal('gdalsrsinfo', '-o', 'wkt_esri', `EPSG:${code}`);
    expect(prj).not.toContain('AUTHORITY');
    expect(findSystemOfWkt(prj)).toMatchObject({ code });
  });
});

test('a .prj as it stands beside a state-plane shapefile', () => {
  // false easting 6561666.667 US survey feet = 2 000 000 m; written in the wording of the format's maker
  const prj =
    'PROJCS["NAD_1983_StatePlane_California_III_FIPS_0403_Feet",GEOGCS["GCS_North_American_1983",DATUM["D_North_American_1983",SPHEROID["GRS_1980",6378137.0,298.257222101]],PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]],PROJECTION["Lambert_Conformal_Conic"],PARAMETER["False_Easting",6561666.666666666],PARAMETER["False_Northing",1640416.666666667],PARAMETER["Central_Meridian",-120.5],PARAMETER["Standard_Parallel_1",37.06666666666667],PARAMETER["Standard_Parallel_2",38.43333333333333],PARAMETER["Latitude_Of_Origin",36.5],UNIT["Foot_US",0.3048006096012192]]';
  expect(findSystemOfWkt(prj)).toMatchObject({ code: 2227 });
  expect(findSystemOfWkt(prj.replace('0.3048006096012192', '0.3048'))).toMatchObject({ code: null });
  expect(findSystemOfWkt(prj.replace('-120.5', '-119.5'))).toMatchObject({ code: null });
  expect(findSystemOfWkt(prj.replace('GCS_North_American_1983', 'GCS_Elsewhere'))).toMatchObject({
    code: null,
  });
});

test('what is no system says why', () => {
  expect(findSystemOfWkt('hello')).toMatchObject({ code: null, reason: /no well-known text/ });
  expect(findSystemOfWkt('LOCAL_CS["tape"]')).toMatchObject({ code: null });
  expect(findSystemOfWkt('PROJCS["x",GEOGCS["y"]]')).toMatchObject({ code: null, name: 'x' });
});
