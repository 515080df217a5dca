/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * How a call in reeve fails.
 *
 * A call that can fail returns enum rv_err and leaves its outputs untouched when it does.  Calls
 * that read what a person wrote, or ask the system for something, also fill a struct rv_error,
 * which says where the fault is and what to do about it.  That parameter is always last and may
 * be NULL.
 */
#ifndef RV_CORE_ERR_H
#define RV_CORE_ERR_H

#include <stdbool.h>

#if defined(__GNUC__) && !defined(__clang__)
#define RV_NODISCARD [[nodiscard]]
#else
#define RV_NODISCARD
#endif

enum RV_NODISCARD rv_err {
	RV_OK = 0,
	RV_ERR_NOMEM,	/* memory refused */
	RV_ERR_SYNTAX,	/* text that is not in the form asked for */
	RV_ERR_UNKNOWN, /* a key, name or unit that nobody declared */
	RV_ERR_RANGE,	/* a number outside what is allowed, or too many of something */
	RV_ERR_MISSING, /* something that must be given is not */
	RV_ERR_REFUSED, /* understood, but it cannot be answered honestly: see tag */
	RV_ERR_SYSTEM,	/* the operating system said no: see sys_errno */
	RV_ERR_STORE,	/* the record said no */
	RV_ERR_BUSY,	/* somebody else holds it */
	RV_ERR_AGAIN,	/* nothing now, ask later */
	RV_ERR_CLOSED,	/* the other side is gone */
};

/* Where and why.  line and column count from 1; 0 = not about a place in a text. */
struct rv_error {
	enum rv_err code;
	int line;
	int column;
	int sys_errno;
	char tag[32];	/* a stable word for programs, such as "name_unknown"; may be empty */
	char text[400]; /* one sentence: what was found, and what is allowed or what to do */
};

/* Fills *error (if there is one) and returns code, so that a caller can write
 * "return rv_err_set(error, RV_ERR_RANGE, ...)". */
enum rv_err rv_err_set(struct rv_error *error, enum rv_err code, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* The same for a place in a text. */
enum rv_err rv_err_at(struct rv_error *error, enum rv_err code, int line, int column,
		      const char *format, ...) __attribute__((format(printf, 5, 6)));

/* The same for a refusal known by a tag. */
enum rv_err rv_err_refuse(struct rv_error *error, const char *tag, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#ifdef __clang_analyzer__ /* it sees one file at a time and cannot know that they return code */
#define rv_err_set(error, code, ...) ((void)rv_err_set(error, code, __VA_ARGS__), code)
#define rv_err_at(error, code, ...) ((void)rv_err_at(error, code, __VA_ARGS__), code)
#define rv_err_refuse(...) ((void)rv_err_refuse(__VA_ARGS__), RV_ERR_REFUSED)
#endif

#endif
