import { hostname, networkInterfaces } from 'node:os';

/** Addresses that routers give within a home (RFC 1918), and those that devices give themselves (RFC 3927). */
const privateAddress = /^(10\.|192\.168\.|172\.(1[6-9]|2\d|3[01])\.|169\.254\.)/;

/** This computer's addresses within the home; the likeliest for a phone in the same network first. */
export function homeAddresses(): string[] {
  const all = Object.values(networkInterfaces()).flatMap((list) => list ?? []);
  const own = all
    .filter((a) => a.family === 'IPv4' && !a.internal && privateAddress.test(a.address))
    .map((a) => a.address);
  const rank = (address: string): number =>
    ['192.168.', '10.', '172.', '169.254.'].findIndex((p) => address.startsWith(p));
  return own.sort((a, b) => rank(a) - rank(b));
}

/** The names by which other devices of the home reach this computer. Foreign names are not among them. */
export function homeNames(): string[] {
  const name = hostname().toLowerCase().split('.')[0] ?? '';
  return [...homeAddresses(), ...(name === '' || name === 'localhost' ? [] : [name, `${name}.local`])];
}
