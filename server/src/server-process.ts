import { startFromArguments } from './main-node.js';

// The process the editor extension starts.
startFromArguments();
