import { session } from './state/session-instance.js';
import './screens/app.js';

session.start();
