/** The part of the package qrcode that is used; it brings no types of its own. */
declare module 'qrcode' {
  interface QrOptions {
    readonly type: 'svg' | 'utf8';
    readonly margin?: number;
    readonly errorCorrectionLevel?: 'L' | 'M' | 'Q' | 'H';
  }
  const qrcode: { toString(text: string, options: QrOptions): Promise<string> };
  export default qrcode;
}
