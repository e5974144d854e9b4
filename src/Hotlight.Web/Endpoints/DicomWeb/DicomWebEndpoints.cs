using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Hotlight.Audit;
using Hotlight.Core;
using Hotlight.Imaging;
using Hotlight.Imaging.Dicom;
using Hotlight.Imaging.Display;
using Hotlight.Imaging.Png;
using Hotlight.Web.Audit;
using Hotlight.Web.People;
using Hotlight.Workflows.Cases;
using Hotlight.Workflows.Intake;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Http.Features;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.Net.Http.Headers;

namespace Hotlight.Web.Endpoints.DicomWeb;

/// <summary>DICOMweb on the bench's own cases, PS3.18: search (QIDO-RS), retrieve (WADO-RS), store (STOW-RS). For programs on this machine that send the word of <c>--web-token-file</c>; off without it.</summary>
internal static class DicomWebEndpoints
{
    private const string Json = "application/dicom+json";
    private const string Dicom = "application/dicom";
    private const string Octets = "application/octet-stream";
    private const string ExplicitUid = "1.2.840.10008.1.2.1";
    private const long LargestStore = 1024L * 1024 * 1024;

    // Attributes of each level that a search gives unasked: PS3.18 tables 10.6.3-3 to 10.6.3-5.
    private static readonly uint[] StudyAttributes = [0x00080005, 0x00080020, 0x00080030, 0x00080050, 0x00080090, 0x00080201, 0x00081030, 0x00100010, 0x00100020, 0x00100030, 0x00100040, 0x0020000D, 0x00200010];
    private static readonly uint[] SeriesAttributes = [0x00080005, 0x00080060, 0x00080201, 0x0008103E, 0x0020000D, 0x0020000E, 0x00200011, 0x00400244, 0x00400245, 0x00400275];
    private static readonly uint[] InstanceAttributes = [0x00080005, 0x00080016, 0x00080018, 0x00080201, 0x0020000D, 0x0020000E, 0x00200013, 0x00280008, 0x00280010, 0x00280011, 0x00280100];

    private enum Level
    {
        Study,
        Series,
        Instance,
    }

    /// <summary>Maps the routes where a word is set.</summary>
    public static void MapDicomWeb(this IEndpointRouteBuilder routes, BenchOptions options)
    {
        if (options.WebToken is not { } token)
        {
            return;
        }

        byte[] wanted = SHA256.HashData(Encoding.UTF8.GetBytes("Bearer " + token));
        RouteGroupBuilder web = routes.MapGroup("/dicomweb");
        web.WithMetadata(new OpenToAttribute(OpenScope.LocalProgram));
        web.AddEndpointFilter(async (context, next) =>
        {
            HttpContext http = context.HttpContext;
            if (http.Features.Get<IStatusCodePagesFeature>() is { } pages)
            {
                // Programs get statuses, not pages for readers.
                pages.Enabled = false;
            }

            if (!CryptographicOperations.FixedTimeEquals(wanted, SHA256.HashData(Encoding.UTF8.GetBytes(http.Request.Headers.Authorization.ToString()))))
            {
                http.Response.Headers.WWWAuthenticate = "Bearer";
                return Problem(StatusCodes.Status401Unauthorized, "DICOMweb needs the word of --web-token-file as a bearer token.");
            }

            return await next(context);
        });
        web.MapGet("/studies", (HttpContext http, InstanceIndex index) => SearchAsync(http, index, Level.Study, null, null)).WithMetadata(new AuditedAttribute(AuditAct.Looked));
        web.MapGet("/series", (HttpContext http, InstanceIndex index) => SearchAsync(http, index, Level.Series, null, null)).WithMetadata(new AuditedAttribute(AuditAct.Looked));
        web.MapGet("/instances", (HttpContext http, InstanceIndex index) => SearchAsync(http, index, Level.Instance, null, null)).WithMetadata(new AuditedAttribute(AuditAct.Looked));
        web.MapGet("/studies/{study}/series", (HttpContext http, InstanceIndex index, string study) => SearchAsync(http, index, Level.Series, study, null)).WithMetadata(new AuditedAttribute(AuditAct.Looked));
        web.MapGet("/studies/{study}/instances", (HttpContext http, InstanceIndex index, string study) => SearchAsync(http, index, Level.Instance, study, null)).WithMetadata(new AuditedAttribute(AuditAct.Looked));
        web.MapGet("/studies/{study}/series/{series}/instances", (HttpContext http, InstanceIndex index, string study, string series) => SearchAsync(http, index, Level.Instance, study, series)).WithMetadata(new AuditedAttribute(AuditAct.Looked));
        foreach (string place in new[] { "/studies/{study}", "/studies/{study}/series/{series}", "/studies/{study}/series/{series}/instances/{instance}" })
        {
            web.MapGet(place, RetrieveAsync);
            web.MapGet(place + "/metadata", MetadataAsync);
        }

        web.MapGet("/studies/{study}/series/{series}/instances/{instance}/frames/{frames}", FramesAsync);
        web.MapGet("/studies/{study}/series/{series}/instances/{instance}/rendered", RenderedAsync);
        web.MapGet("/studies/{study}/series/{series}/instances/{instance}/frames/1/rendered", RenderedAsync);
        web.MapPost("/studies", StoreAsync);
        web.MapPost("/studies/{study}", StoreAsync);
    }

    private static async Task<IResult> SearchAsync(HttpContext http, InstanceIndex index, Level level, string? study, string? series)
    {
        if (!Accepts(http, Json, "application/json"))
        {
            return Problem(StatusCodes.Status406NotAcceptable, $"Searches are answered as {Json}.");
        }

        List<QueryMatch> matches = [];
        HashSet<uint> include = [];
        bool includeAll = false;
        int offset = 0;
        int limit = int.MaxValue;
        List<string> warnings = [];
        foreach ((string name, Microsoft.Extensions.Primitives.StringValues values) in http.Request.Query)
        {
            string value = values.ToString();
            switch (name)
            {
                case "limit":
                    if (!int.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out limit))
                    {
                        return Problem(StatusCodes.Status400BadRequest, "limit takes a whole number, 0 or more.");
                    }

                    break;
                case "offset":
                    if (!int.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out offset))
                    {
                        return Problem(StatusCodes.Status400BadRequest, "offset takes a whole number, 0 or more.");
                    }

                    break;
                case "fuzzymatching":
                    if (value == "true")
                    {
                        warnings.Add("The fuzzymatching parameter is not supported. Only literal matching has been performed.");
                    }

                    break;
                case "includefield":
                    foreach (string field in values.SelectMany(each => each!.Split(',', StringSplitOptions.RemoveEmptyEntries)))
                    {
                        if (field == "all")
                        {
                            includeAll = true;
                        }
                        else if (DicomDictionary.TagOf(field) is { } wantedTag)
                        {
                            include.Add(wantedTag.Number);
                        }
                        else
                        {
                            return Problem(StatusCodes.Status400BadRequest, $"includefield names no attribute: '{Plain(field)}'.");
                        }
                    }

                    break;
                default:
                    if (name.Contains('.', StringComparison.Ordinal))
                    {
                        warnings.Add("Keys inside sequences are not matched.");
                    }
                    else if (DicomDictionary.TagOf(name) is { } tag && DicomDictionary.VrOf(tag) is { } vr)
                    {
                        matches.Add(new QueryMatch(tag, vr, value));
                        include.Add(tag.Number);
                    }
                    else
                    {
                        return Problem(StatusCodes.Status400BadRequest, $"'{Plain(name)}' is no attribute and no parameter of a search.");
                    }

                    break;
            }
        }

        IReadOnlyList<Instance> all = await index.AllAsync(http.RequestAborted);
        string root = Root(http);
        IEnumerable<IGrouping<string, Instance>> groups = all
            .Where(each => (study is null || each.StudyUid == study) && (series is null || each.SeriesUid == series))
            .GroupBy(each => level switch { Level.Study => each.StudyUid, Level.Series => each.StudyUid + "/" + each.SeriesUid, _ => each.StudyUid + "/" + each.SeriesUid + "/" + each.InstanceUid }, StringComparer.Ordinal);
        List<DicomDataset> found = [];
        int matching = 0;
        foreach (IGrouping<string, Instance> group in groups)
        {
            string[] modalities = [.. all.Where(each => each.StudyUid == group.First().StudyUid).Select(each => each.Header.Text(0x00080060)).OfType<string>().Distinct(StringComparer.Ordinal)];
            Instance? fits = group.FirstOrDefault(each => matches.All(match => match.Tag.Number == 0x00080061 ? match.Fits(modalities) : match.Fits(each.Header)));
            if (fits is null)
            {
                continue;
            }

            if (matching++ >= offset && found.Count < limit)
            {
                found.Add(Answer(level, fits, [.. group], all, modalities, study, series, include, includeAll, root));
            }
        }

        int left = matching - offset - found.Count;
        if (left > 0)
        {
            warnings.Add(string.Create(CultureInfo.InvariantCulture, $"There are {left} additional results that can be requested"));
        }

        if (warnings.Count > 0)
        {
            http.Response.Headers.Warning = new([.. warnings.Distinct().Select(warning => $"299 {http.Request.Host}: \"{warning}\"")]);
        }

        return found.Count == 0 ? TypedResults.NoContent() : JsonOf(found, _ => null);
    }

    private static DicomDataset Answer(Level level, Instance instance, IReadOnlyList<Instance> group, IReadOnlyList<Instance> all, string[] modalities, string? study, string? series, HashSet<uint> include, bool includeAll, string root)
    {
        HashSet<uint> wanted = [.. include];
        DicomDataset answer = new();
        if (level == Level.Study || study is null)
        {
            wanted.UnionWith(StudyAttributes);
        }

        if (level >= Level.Series && series is null)
        {
            wanted.UnionWith(SeriesAttributes);
        }

        if (level == Level.Instance)
        {
            wanted.UnionWith(InstanceAttributes);
        }

        foreach (DicomElement element in instance.Header.Elements)
        {
            if (includeAll || wanted.Contains(element.Tag.Number))
            {
                answer.Set(element);
            }
        }

        // What the standard requires is there, empty where it is not known.
        foreach (uint tag in level switch { Level.Study => StudyAttributes, Level.Series => [0x00080060, 0x0020000E, 0x00200011], _ => new uint[] { 0x00080016, 0x00080018, 0x00200013 } })
        {
            if (!answer.Contains(tag) && tag is not (0x00080005 or 0x00080201 or 0x00081030))
            {
                answer.Set(DicomElement.OfValue(tag, DicomDictionary.VrOf(tag)!, ReadOnlyMemory<byte>.Empty));
            }
        }

        string place = $"{root}/studies/{instance.StudyUid}";
        if (level == Level.Study || study is null)
        {
            answer.SetText(0x00080061, "CS", modalities)
                .SetNumbers(0x00201206, "IS", all.Where(each => each.StudyUid == instance.StudyUid).Select(each => each.SeriesUid).Distinct(StringComparer.Ordinal).Count())
                .SetNumbers(0x00201208, "IS", all.Count(each => each.StudyUid == instance.StudyUid));
        }

        if (level >= Level.Series)
        {
            place += $"/series/{instance.SeriesUid}";
            if (series is null)
            {
                answer.SetNumbers(0x00201209, "IS", level == Level.Series ? group.Count : all.Count(each => each.StudyUid == instance.StudyUid && each.SeriesUid == instance.SeriesUid));
            }
        }

        if (level == Level.Instance)
        {
            place += $"/instances/{instance.InstanceUid}";
        }

        if (level != Level.Series)
        {
            answer.SetText(0x00080056, "CS", "ONLINE");
        }

        return answer.SetText(0x00081190, "UR", place);
    }

    private static async Task<IResult> RetrieveAsync(HttpContext http, InstanceIndex index, CaseWorkflow cases)
    {
        MediaTypeHeaderValue? accepted = Accepted(http, Dicom);
        if (accepted is null)
        {
            return Problem(StatusCodes.Status406NotAcceptable, $"""Files are given as multipart/related; type="{Dicom}".""");
        }

        IReadOnlyList<Instance> instances = await FindAsync(http, index);
        if (instances.Count == 0)
        {
            return NotFound();
        }

        string? syntax = accepted.Parameters.FirstOrDefault(each => each.Name.Equals("transfer-syntax", StringComparison.OrdinalIgnoreCase))?.Value.ToString().Trim('"');
        string boundary = Begin(http, Dicom);
        foreach (Instance instance in instances)
        {
            (byte[] bytes, DicomContent content) = await index.FileAsync(instance, http.RequestAborted);

            // Without a wish it is explicit little endian (PS3.18 8.7.3.5.2).
            bool asIs = syntax == "*" || content.TransferSyntaxUid == (syntax ?? ExplicitUid);
            byte[] file = asIs ? bytes : content.WriteUncompressed(await cases.RadiographAsync(await cases.GetAsync(instance.CaseId, http.RequestAborted)));
            await PartAsync(http, boundary, $"{Dicom}; transfer-syntax={(asIs ? content.TransferSyntaxUid : ExplicitUid)}", null, file);
        }

        await EndAsync(http, boundary);
        return TypedResults.Empty;
    }

    private static async Task<IResult> MetadataAsync(HttpContext http, InstanceIndex index)
    {
        if (!Accepts(http, Json, "application/json"))
        {
            return Problem(StatusCodes.Status406NotAcceptable, $"Metadata are given as {Json}.");
        }

        IReadOnlyList<Instance> instances = await FindAsync(http, index);
        if (instances.Count == 0)
        {
            return NotFound();
        }

        List<DicomDataset> found = [];
        foreach (Instance instance in instances)
        {
            found.Add((await index.FileAsync(instance, http.RequestAborted)).Content.Dataset);
        }

        string root = Root(http);
        return JsonOf(found, dataset => $"{root}/studies/{dataset.Text(0x0020000D)}/series/{dataset.Text(0x0020000E)}/instances/{dataset.Text(0x00080018)}/frames/1");
    }

    private static async Task<IResult> FramesAsync(HttpContext http, InstanceIndex index, CaseWorkflow cases, string frames)
    {
        if (Accepted(http, Octets) is null)
        {
            return Problem(StatusCodes.Status406NotAcceptable, $"""Frames are given as multipart/related; type="{Octets}".""");
        }

        if (await FindAsync(http, index) is not [{ } instance])
        {
            return NotFound();
        }

        if (frames != "1")
        {
            return Problem(StatusCodes.Status404NotFound, "A radiograph has one frame: 1.");
        }

        (_, DicomContent content) = await index.FileAsync(instance, http.RequestAborted);
        byte[] pixels = !content.IsEncapsulated && content.Dataset.Find(0x7FE00010) is { IsBigEndian: false, IsCut: false } native && !content.HasBigEndianPixels
            ? native.Value.ToArray()
            : DicomContent.PixelWords(await cases.RadiographAsync(await cases.GetAsync(instance.CaseId, http.RequestAborted)));
        string boundary = Begin(http, Octets);
        await PartAsync(http, boundary, $"{Octets}; transfer-syntax={ExplicitUid}", $"{http.Request.Scheme}://{http.Request.Host}{http.Request.Path}", pixels);
        await EndAsync(http, boundary);
        return TypedResults.Empty;
    }

    private static async Task<IResult> RenderedAsync(HttpContext http, InstanceIndex index, CaseWorkflow cases, string? window)
    {
        if (!Accepts(http, "image/png"))
        {
            return Problem(StatusCodes.Status406NotAcceptable, "Pictures are given as image/png.");
        }

        if (await FindAsync(http, index) is not [{ } instance])
        {
            return NotFound();
        }

        VoiTransform? wanted = null;
        if (window is not null)
        {
            string[] parts = window.Split(',');
            WindowFunction? function = (parts.Length > 2 ? parts[2].ToLowerInvariant() : "linear") switch
            {
                "linear" => WindowFunction.Linear,
                "linear-exact" => WindowFunction.LinearExact,
                "sigmoid" => WindowFunction.Sigmoid,
                _ => null,
            };
            if (parts.Length is not (2 or 3) || function is null
                || !double.TryParse(parts[0], NumberStyles.Float, CultureInfo.InvariantCulture, out double center) || !double.IsFinite(center)
                || !double.TryParse(parts[1], NumberStyles.Float, CultureInfo.InvariantCulture, out double width) || !(width >= 1) || !double.IsFinite(width))
            {
                return Problem(StatusCodes.Status400BadRequest, "window takes center,width,function: a number, a number of 1 or more, and linear, linear-exact or sigmoid.");
            }

            wanted = new VoiTransform { Center = center, Width = width, Function = function.Value };
        }

        Radiograph radiograph = await cases.RadiographAsync(await cases.GetAsync(instance.CaseId, http.RequestAborted));
        using var picture = new MemoryStream();
        PngWriter.Write(picture, DisplayTable.Render(radiograph, wanted).AsReadOnly());
        return TypedResults.Bytes(picture.ToArray(), "image/png");
    }

    private static async Task<IResult> StoreAsync(HttpContext http, CaseWorkflow cases, ArrivalLog log, BenchOptions options)
    {
        if (!MediaTypeHeaderValue.TryParse(http.Request.ContentType, out MediaTypeHeaderValue? type) || !type.MediaType.Equals("multipart/related", StringComparison.OrdinalIgnoreCase)
            || type.Parameters.FirstOrDefault(each => each.Name.Equals("type", StringComparison.OrdinalIgnoreCase))?.Value.ToString().Trim('"') != Dicom)
        {
            return Problem(StatusCodes.Status415UnsupportedMediaType, $"""Images are stored as multipart/related; type="{Dicom}".""");
        }

        string boundary = HeaderUtilities.RemoveQuotes(type.Boundary).ToString();
        if (boundary.Length is 0 or > 200)
        {
            return Problem(StatusCodes.Status400BadRequest, "The request names no boundary between its parts.");
        }

        http.Features.GetRequiredFeature<IHttpMaxRequestBodySizeFeature>().MaxRequestBodySize = LargestStore;
        string? study = http.GetRouteValue("study") as string;
        List<DicomDataset> stored = [];
        List<DicomDataset> failed = [];
        List<DicomDataset> others = [];
        bool hasWarning = false;
        try
        {
            var reader = new MultipartReader(boundary, http.Request.Body) { BodyLengthLimit = options.UploadLimitBytes };
            while (await reader.ReadNextSectionAsync(http.RequestAborted) is { } part)
            {
                using var whole = new MemoryStream();
                await part.Body.CopyToAsync(whole, http.RequestAborted);
                byte[] bytes = whole.ToArray();
                (DicomDataset? references, string? studyOfFile) = References(bytes);
                if (references is null)
                {
                    others.Add(new DicomDataset().SetNumbers(0x00081197, "US", 0xC000));
                    log.Add(CaseOrigin.Web, "a part that was sent", "It is no DICOM file.");
                    continue;
                }

                if (study is not null && studyOfFile != study)
                {
                    failed.Add(references.SetNumbers(0x00081197, "US", 0xA900));
                    continue;
                }

                try
                {
                    whole.Position = 0;
                    CaseBroughtIn brought = await cases.BringInAsync($"stored {references.Text(0x00081155)![^Math.Min(8, references.Text(0x00081155)!.Length)..]}.dcm", whole, options.UploadLimitBytes, CaseOrigin.Web, http.RequestAborted);
                    log.Add(brought);
                    if (brought.Record.IsDeidentified)
                    {
                        // Coercion of data elements: the identity was taken out, so the instance has another UID here.
                        hasWarning = true;
                        references.SetNumbers(0x00081196, "US", 0xB000).SetText(0x00081155, "UI", brought.Record.SopInstanceUid!);
                    }

                    stored.Add(references.SetText(0x00081190, "UR", $"{Root(http)}/studies/{brought.Record.ExaminationKey}/series/{brought.Record.SeriesUid}/instances/{brought.Record.SopInstanceUid}"));
                }
                catch (UnreadableImageException error)
                {
                    log.Add(CaseOrigin.Web, "an image that was sent", error.Reason);
                    failed.Add(references.SetNumbers(0x00081197, "US", 0xC000));
                }
                catch (FileNotKeptException error)
                {
                    log.Add(CaseOrigin.Web, "an image that was sent", error.Message);
                    failed.Add(references.SetNumbers(0x00081197, "US", 0xA700));
                }
            }
        }
        catch (Exception error) when (error is InvalidDataException or IOException)
        {
            return Problem(StatusCodes.Status400BadRequest, "The parts of the request could not be read; what was stored before is kept.");
        }

        if (stored.Count + failed.Count + others.Count == 0)
        {
            return Problem(StatusCodes.Status400BadRequest, "The request holds no image.");
        }

        DicomDataset answer = new();
        string[] studies = [.. stored.Select(each => each.Text(0x00081190)!.Split("/series/")[0]).Distinct(StringComparer.Ordinal)];
        answer.SetText(0x00081190, "UR", studies.Length == 1 ? studies[0] : string.Empty);
        if (failed.Count > 0)
        {
            answer.SetItems(0x00081198, [.. failed]);
        }

        if (stored.Count > 0)
        {
            answer.SetItems(0x00081199, [.. stored]);
        }

        if (others.Count > 0)
        {
            answer.SetItems(0x0008119A, [.. others]);
        }

        int status = stored.Count == 0 ? StatusCodes.Status409Conflict : failed.Count + others.Count > 0 || hasWarning ? StatusCodes.Status202Accepted : StatusCodes.Status200OK;
        return new JsonAnswer([answer], _ => null, status, isArray: false);
    }

    private static (DicomDataset? References, string? Study) References(byte[] bytes)
    {
        try
        {
            if (!DicomContent.LooksLikeDicom(bytes))
            {
                return (null, null);
            }

            DicomDataset dataset = DicomContent.Read(bytes, "part").Dataset;
            return dataset.Text(0x00080016) is { } sopClass && dataset.Text(0x00080018) is { } instance
                ? (new DicomDataset().SetText(0x00081150, "UI", sopClass).SetText(0x00081155, "UI", instance), dataset.Text(0x0020000D))
                : (null, null);
        }
        catch (UnreadableImageException)
        {
            return (null, null);
        }
    }

    private static async Task<IReadOnlyList<Instance>> FindAsync(HttpContext http, InstanceIndex index)
    {
        string? study = http.GetRouteValue("study") as string;
        string? series = http.GetRouteValue("series") as string;
        string? instance = http.GetRouteValue("instance") as string;
        Instance[] found = [.. (await index.AllAsync(http.RequestAborted)).Where(each => each.StudyUid == study && (series is null || each.SeriesUid == series) && (instance is null || each.InstanceUid == instance))];

        // Whoever has the word for programs is not known by name. Whatever is asked of an image leaves the bench.
        IAuditTrail trail = http.RequestServices.GetRequiredService<IAuditTrail>();
        var by = new AuditActor("a program by DICOMweb", Address: AuditActor.Current.Address);
        await Task.WhenAll(found.Select(each => trail.TellAsync(new AuditEvent(AuditAct.Exported, AuditSubject.Case, each.CaseId.ToString(), "DICOMweb") { By = by })));
        return found;
    }

    private static string Root(HttpContext http) => $"{http.Request.Scheme}://{http.Request.Host}/dicomweb";

    // Only letters that can stand in an attribute's name are said again.
    private static string Plain(string text) => new([.. text.Where(letter => char.IsAsciiLetterOrDigit(letter)).Take(40)]);

    /// <summary>Whether the request takes one of some media types.</summary>
    private static bool Accepts(HttpContext http, params string[] types)
        => http.Request.GetTypedHeaders().Accept is not { Count: > 0 } accepted
            || accepted.Any(each => each.Quality != 0 && types.Any(type => each.MediaType == "*/*" || new MediaTypeHeaderValue(type).IsSubsetOf(new MediaTypeHeaderValue(each.MediaType))));

    /// <summary>The accepted entry for a multipart answer of a type; null where it is not acceptable.</summary>
    private static MediaTypeHeaderValue? Accepted(HttpContext http, string type)
    {
        IList<MediaTypeHeaderValue> accepted = http.Request.GetTypedHeaders().Accept;
        if (accepted.Count == 0)
        {
            return new MediaTypeHeaderValue("*/*");
        }

        return accepted.Where(each => each.Quality != 0).FirstOrDefault(each => each.MediaType == "*/*" || each.MediaType == type || (each.MediaType == "multipart/*")
            || (each.MediaType.Equals("multipart/related", StringComparison.OrdinalIgnoreCase)
                && (each.Parameters.FirstOrDefault(parameter => parameter.Name.Equals("type", StringComparison.OrdinalIgnoreCase)) is not { } part || part.Value.ToString().Trim('"') is { } given && (given == type || given == "*/*"))));
    }

    private static string Begin(HttpContext http, string type)
    {
        string boundary = "hotlight" + Guid.NewGuid().ToString("N", CultureInfo.InvariantCulture);
        http.Response.ContentType = $"""multipart/related; type="{type}"; boundary={boundary}""";
        return boundary;
    }

    private static async Task PartAsync(HttpContext http, string boundary, string type, string? location, byte[] content)
    {
        string head = $"--{boundary}\r\nContent-Type: {type}\r\nContent-Length: {content.Length}\r\n{(location is null ? string.Empty : $"Content-Location: {location}\r\n")}\r\n";
        await http.Response.Body.WriteAsync(Encoding.ASCII.GetBytes(head), http.RequestAborted);
        await http.Response.Body.WriteAsync(content, http.RequestAborted);
        await http.Response.Body.WriteAsync("\r\n"u8.ToArray(), http.RequestAborted);
    }

    private static Task EndAsync(HttpContext http, string boundary) => http.Response.Body.WriteAsync(Encoding.ASCII.GetBytes($"--{boundary}--\r\n"), http.RequestAborted).AsTask();

    private static JsonAnswer JsonOf(IReadOnlyList<DicomDataset> datasets, Func<DicomDataset, string?> pixelDataUri) => new(datasets, pixelDataUri, StatusCodes.Status200OK, isArray: true);

    private static IResult NotFound() => Problem(StatusCodes.Status404NotFound, "There is no such study, series or instance here.");

    private static IResult Problem(int status, string detail) => TypedResults.Problem(detail, statusCode: status);

    private sealed class JsonAnswer(IReadOnlyList<DicomDataset> datasets, Func<DicomDataset, string?> pixelDataUri, int status, bool isArray) : IResult
    {
        public async Task ExecuteAsync(HttpContext httpContext)
        {
            httpContext.Response.StatusCode = status;
            httpContext.Response.ContentType = Json;
            using var body = new MemoryStream();
            using (var writer = new Utf8JsonWriter(body))
            {
                if (isArray)
                {
                    writer.WriteStartArray();
                }

                foreach (DicomDataset dataset in datasets)
                {
                    DicomJson.Write(writer, dataset, pixelDataUri(dataset));
                }

                if (isArray)
                {
                    writer.WriteEndArray();
                }
            }

            httpContext.Response.ContentLength = body.Length;
            body.Position = 0;
            await body.CopyToAsync(httpContext.Response.Body, httpContext.RequestAborted);
        }
    }
}
