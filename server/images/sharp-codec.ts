import sharp from 'sharp';

// Measured on two cores: with two threads a 12-megapixel JPEG decodes in about half the time of one.
sharp.concurrency(2);
// A picture is opened once; kept copies would only cost memory.
sharp.cache(false);

/** The picture codec, set up once. Import it from here so that no part runs with other settings. */
export const pictureCodec = sharp;
