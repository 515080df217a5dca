/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "core/err.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#undef rv_err_set
#undef rv_err_at
#undef rv_err_refuse

static enum rv_err fill(struct rv_error *error, enum rv_err code, const char *format, va_list args)
{
	if (error) {
		memset(error, 0, sizeof *error);
		error->code = code;
		vsnprintf(error->text, sizeof error->text, format, args);
	}
	return code;
}

enum rv_err rv_err_set(struct rv_error *error, enum rv_err code, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	enum rv_err err = fill(error, code, format, args);
	va_end(args);
	return err;
}

enum rv_err rv_err_at(struct rv_error *error, enum rv_err code, int line, int column,
		      const char *format, ...)
{
	va_list args;

	va_start(args, format);
	enum rv_err err = fill(error, code, format, args);
	va_end(args);
	if (error) {
		error->line = line;
		error->column = column;
	}
	return err;
}

enum rv_err rv_err_refuse(struct rv_error *error, const char *tag, const char *format, ...)
{
	va_list args;

	va_start(args, format);
	enum rv_err err = fill(error, RV_ERR_REFUSED, format, args);
	va_end(args);
	if (error)
		snprintf(error->tag, sizeof error->tag, "%s", tag);
	return err;
}
