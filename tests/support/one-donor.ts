/** What is at hand where one old straight may be cut; as the page sends it. */
export const oneDonor = {
  format: 'gapwright-stock/1',
  straights: [],
  donors: [{ id: 'old straight', lengthMm: 254 }],
  kerfMm: 1,
  reusableOffcutMm: 60,
};
