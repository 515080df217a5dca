/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Marks that tell an estimate something.  Any other text is a note and nothing more.
 */
#ifndef RV_CORE_MARK_WORD_H
#define RV_CORE_MARK_WORD_H

enum rv_mark_word {
	RV_MARK_NOTE,
	RV_MARK_HAULING,     /* "hauling in", "hauling", "haul start" */
	RV_MARK_PAYING_OUT,  /* "paying out", "pay start" */
	RV_MARK_STOPPED,     /* "stopped", "stop", "haul stop", "pay stop" */
	RV_MARK_EXCHANGED,   /* "cells exchanged": the two cells changed places */
	RV_MARK_RIGGED_ANEW, /* "rigged anew" */
};

/* Large and small letters, hyphens, spaces around and a full stop make no difference. */
enum rv_mark_word rv_mark_word(const char *text);

#endif
